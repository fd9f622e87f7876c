package authority

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"io"
	"log"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

var now = time.Now() // the standard client compares with the true clock

func initTest(t *testing.T) *Authority {
	t.Helper()
	a, err := Init(filepath.Join(t.TempDir(), "authority"), "Shop.LAN", now)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// visit asks a server with a certificate for its page, as a client that trusts
// the root of a alone and knows the server by a name.
func (a *Authority) visit(t *testing.T, shows tls.Certificate, name string) (string, error) {
	t.Helper()
	l, err := tls.Listen("tcp", "127.0.0.1:0", &tls.Config{Certificates: []tls.Certificate{shows}})
	if err != nil {
		t.Fatal(err)
	}
	server := &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "the shop") }), ErrorLog: log.New(io.Discard, "", 0)}
	go server.Serve(l)
	defer server.Close()
	roots := x509.NewCertPool()
	root, err := x509.ParseCertificate(a.Root())
	if err != nil {
		t.Fatal(err)
	}
	roots.AddCert(root)
	client := http.Client{Transport: &http.Transport{
		TLSClientConfig: &tls.Config{RootCAs: roots},
		DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
			return new(net.Dialer).DialContext(ctx, "tcp", l.Addr().String())
		},
	}}
	r, err := client.Get("https://" + name + "/")
	if err != nil {
		return "", err
	}
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	return string(b), err
}

// sign makes a certificate of other names under the root, as who has stolen its
// key would.
func (a *Authority) sign(t *testing.T, template *x509.Certificate) tls.Certificate {
	t.Helper()
	key, serial, err := newKey()
	if err != nil {
		t.Fatal(err)
	}
	template.SerialNumber, template.NotBefore, template.NotAfter = serial, now.Add(-time.Hour), now.Add(time.Hour)
	template.Subject = pkix.Name{CommonName: "stolen"}
	der, err := x509.CreateCertificate(rand.Reader, template, a.root, &key.PublicKey, a.key)
	if err != nil {
		t.Fatal(err)
	}
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}
}

func TestClientThatTrustsTheRoot(t *testing.T) {
	a := initTest(t)
	if got, err := a.visit(t, a.server, "shop.lan"); got != "the shop" || err != nil {
		t.Errorf("the client gets %q, %v", got, err)
	}
	if _, err := a.visit(t, a.server, "other.lan"); err == nil {
		t.Error("the certificate counts for another name")
	}
	if _, err := initTest(t).visit(t, a.server, "shop.lan"); err == nil {
		t.Error("who trusts another root reaches the server")
	}
}

// TestConstraint: the root vouches for names of the shop only, whoever has its
// key.
func TestConstraint(t *testing.T) {
	a := initTest(t)
	if got, err := a.visit(t, a.sign(t, &x509.Certificate{DNSNames: []string{"phones.shop.lan"}}), "phones.shop.lan"); err != nil {
		t.Errorf("a name below the shop's: %q, %v", got, err)
	}
	var invalid x509.CertificateInvalidError
	for name, c := range map[string]*x509.Certificate{
		"bank.example": {DNSNames: []string{"bank.example"}}, "notshop.lan": {DNSNames: []string{"notshop.lan"}},
		"127.0.0.1": {IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}}, "[::1]": {IPAddresses: []net.IP{net.IPv6loopback}},
		"shop.lan": {DNSNames: []string{"shop.lan", "bank.example"}},
	} {
		if _, err := a.visit(t, a.sign(t, c), name); !errors.As(err, &invalid) || invalid.Reason != x509.CANotAuthorizedForThisName {
			t.Errorf("%s: %v, want a refusal by the constraint", name, err)
		}
	}
}

func TestLives(t *testing.T) {
	a := initTest(t)
	if life := a.root.NotAfter.Sub(now); life < 9*365*24*time.Hour || life > 11*365*24*time.Hour || !a.root.PermittedDNSDomainsCritical || !a.root.MaxPathLenZero {
		t.Errorf("the root lives %v, critical %v", life, a.root.PermittedDNSDomainsCritical)
	}
	if life := a.server.Leaf.NotAfter.Sub(a.server.Leaf.NotBefore); life > 397*24*time.Hour || life < 390*24*time.Hour {
		t.Errorf("the server's certificate lives %v, want 397 days at most", life)
	}
	for name, mode := range map[string]os.FileMode{"": 0o700 | os.ModeDir, rootKeyFile: 0o600, serverKeyFile: 0o600} {
		if i, err := os.Stat(filepath.Join(a.dir, name)); err != nil || i.Mode() != mode {
			t.Errorf("%s has mode %v, %v, want %v", name, i.Mode(), err, mode)
		}
	}
}

func TestRenewal(t *testing.T) {
	a := initTest(t)
	same, err := Open(a.dir, now.Add(300*24*time.Hour))
	if err != nil || !same.Until().Equal(a.Until()) {
		t.Errorf("with 97 days left it ends %v, %v, want as before", same.Until(), err)
	}
	late := now.Add(370 * 24 * time.Hour)
	renewed, err := Open(a.dir, late)
	if err != nil || !renewed.Until().After(late.Add(390*24*time.Hour)) || string(renewed.Root()) != string(a.Root()) {
		t.Fatalf("with 27 days left it ends %v, %v, want a new one under the same root", renewed.Until(), err)
	}
	again, err := Open(a.dir, late.Add(time.Hour))
	if err != nil || !again.Until().Equal(renewed.Until()) {
		t.Errorf("opened again it ends %v, %v", again.Until(), err)
	}
	if _, err := Open(a.dir, now.Add(rootLife+time.Hour)); !errors.Is(err, ErrOver) {
		t.Errorf("after the root's life: %v, want ErrOver", err)
	}
	nearly, err := Open(a.dir, now.Add(rootLife-100*24*time.Hour))
	if err != nil || nearly.Until().After(a.root.NotAfter) {
		t.Errorf("near the end it ends %v, %v: after its root", nearly.Until(), err)
	}
}

// TestRenewalWhileRunning: a server that is never started again shows a new
// certificate in time, to many at once.
func TestRenewalWhileRunning(t *testing.T) {
	a := initTest(t)
	at := now
	config := a.TLS(func() time.Time { return at })
	shown := func() time.Time {
		c, err := config.GetCertificate(nil)
		if err != nil {
			t.Error(err)
			return time.Time{}
		}
		return c.Leaf.NotAfter
	}
	first := shown()
	at = now.Add(360 * 24 * time.Hour)
	if !shown().Equal(first) {
		t.Error("renewed with 37 days left")
	}
	at = now.Add(368 * 24 * time.Hour)
	var ends [4]time.Time
	var coming sync.WaitGroup
	for i := range ends {
		coming.Go(func() { ends[i] = shown() })
	}
	coming.Wait()
	for _, end := range ends {
		if !end.After(first) || !end.Equal(ends[0]) {
			t.Errorf("with 29 days left certificates end %v, want one new one", ends)
		}
	}
	at = now.Add(rootLife - 24*time.Hour)
	if _, err := config.GetCertificate(nil); err != nil {
		t.Errorf("on the root's last day: %v", err)
	}
}

func TestInitRefuses(t *testing.T) {
	a := initTest(t)
	if _, err := Init(a.dir, "shop.lan", now); !errors.Is(err, ErrExists) {
		t.Errorf("a second time: %v, want ErrExists", err)
	}
	for _, name := range []string{"", "shop", "192.168.1.5", "shop..lan", "-shop.lan", "shop.l an", "shöp.lan", "*.lan", strings.Repeat("a", 64) + ".lan"} {
		if _, err := Init(t.TempDir(), name, now); !errors.Is(err, ErrName) {
			t.Errorf("%q: %v, want ErrName", name, err)
		}
	}
	if _, err := Open(t.TempDir(), now); !errors.Is(err, ErrNone) {
		t.Errorf("nothing there: %v, want ErrNone", err)
	}
	if err := os.WriteFile(filepath.Join(a.dir, rootKeyFile), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(a.dir, now); err == nil {
		t.Error("a broken key is opened")
	}
}
