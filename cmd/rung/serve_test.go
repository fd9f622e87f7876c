package main

import (
	"bufio"
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rung/internal/journal/pgtest"
)

// rung runs the program to its end.
func rung(t *testing.T, stdin string, args ...string) string {
	t.Helper()
	c := exec.Command(os.Args[0], args...)
	c.Env = append(os.Environ(), "RUNG_ITSELF=1")
	c.Stdin = strings.NewReader(stdin)
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("rung %v: %v: %s", args, err, out)
	}
	return string(out)
}

// started is a server as a process, with what it said at its start.
type started struct {
	c    *exec.Cmd
	addr string
	says string
}

// startServer starts "rung serve" on a free port and reads lines of what it says.
func startServer(t *testing.T, lines int, args ...string) *started {
	t.Helper()
	c := exec.Command(os.Args[0], append([]string{"serve", "--addr", "127.0.0.1:0"}, args...)...)
	c.Env = append(os.Environ(), "RUNG_ITSELF=1")
	c.Stderr = os.Stderr
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Process.Kill(); c.Wait() })
	s := &started{c: c}
	reader := bufio.NewReader(out)
	for range lines {
		line, err := reader.ReadString('\n')
		if err != nil {
			t.Fatalf("the server says %q, then %v", s.says, err)
		}
		s.says += line
	}
	m := regexp.MustCompile(`https?://[^/\s]*:(\d+)`).FindStringSubmatch(s.says)
	if m == nil {
		t.Fatalf("the server says %q", s.says)
	}
	s.addr = "127.0.0.1:" + m[1]
	return s
}

// browser is a client with cookies that reaches a server under any name and does
// not follow.
func (s *started) browser(t *testing.T, roots *x509.CertPool) *http.Client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &http.Client{
		Jar: jar, Timeout: 20 * time.Second, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}, DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
			return new(net.Dialer).DialContext(ctx, "tcp", s.addr)
		}},
	}
}

func body(t *testing.T, r *http.Response, err error) (int, string) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return r.StatusCode, string(b)
}

// TestPeopleOnTheCommandLine: as soon as there is an account, everybody signs in;
// with the password that the command printed.
func TestPeopleOnTheCommandLine(t *testing.T) {
	file := filepath.Join(t.TempDir(), "shop.db")
	first := startServer(t, 1, "--file", file)
	if code, _ := body(t, must(first.browser(t, nil).Get("http://"+first.addr+"/")), nil); code != 200 {
		t.Errorf("one person alone gets %d", code)
	}
	says := rung(t, "", "user", "add", "Ada Sample", "--role", "owner", "--licences", "refrigerant,gas", "--certificate", "II 1", "--file", file)
	password := regexp.MustCompile(`password: (\w{26})\n`).FindStringSubmatch(says)
	if password == nil {
		t.Fatalf("adding says %q", says)
	}
	b := first.browser(t, nil)
	if code, _ := body(t, must(b.Get("http://"+first.addr+"/")), nil); code != http.StatusSeeOther {
		t.Errorf("with an account added meanwhile, nobody gets %d, want the way to sign in", code)
	}
	r, err := b.PostForm("http://"+first.addr+"/sign-in", url.Values{"name": {"ada sample"}, "password": {password[1]}})
	if code, text := body(t, r, err); code != http.StatusSeeOther {
		t.Fatalf("signing in answers %d: %s", code, text)
	}
	if code, text := body(t, must(b.Get("http://"+first.addr+"/office")), nil); code != 200 || !strings.Contains(text, "Ada Sample, owner") {
		t.Errorf("the office answers %d", code)
	}
	rung(t, "one two three four\n", "user", "add", "Ben", "--role", "apprentice", "--password-stdin", "--file", file)
	rung(t, "", "user", "role", "Ben", "mechanic", "--licences", "gas", "--file", file)
	rung(t, "", "user", "disable", "Ben", "--file", file)
	if got := rung(t, "", "user", "list", "--file", file); got != "Ada Sample\towner\topen\nBen\tmechanic\tclosed\n" {
		t.Errorf("the list is %q", got)
	}
	rung(t, "", "user", "password", "Ada Sample", "--file", file)
	if code, _ := body(t, must(b.Get("http://"+first.addr+"/")), nil); code != http.StatusSeeOther {
		t.Errorf("after another password the session gets %d", code)
	}
	if copied := rung(t, "", "backup", filepath.Join(filepath.Dir(file), "shop-office.db"), file+".copy"); !strings.Contains(copied, "copied") {
		t.Errorf("backup of the accounts says %q", copied)
	}
}

func must(r *http.Response, err error) *http.Response {
	if err != nil {
		panic(err)
	}
	return r
}

// TestOwnAuthority: a client that trusts the root alone reaches the server under
// its name, makes the first owner by the printed address, and is in.
func TestOwnAuthority(t *testing.T) {
	dir := t.TempDir()
	at := filepath.Join(dir, "authority")
	said := rung(t, "", "authority", "init", "--name", "shop.lan", "--dir", at)
	s := startServer(t, 5, "--file", filepath.Join(dir, "shop.db"), "--authority", at, "--behind-proxy", "--hsts")
	fingerprint := regexp.MustCompile(`(?m)^\s*([0-9A-F]{4} ){15}[0-9A-F]{4}$`).FindString(s.says)
	if fingerprint == "" || !strings.Contains(said, strings.TrimSpace(fingerprint)) {
		t.Errorf("making said %q, starting %q: no common fingerprint", said, s.says)
	}
	text, err := os.ReadFile(filepath.Join(at, "root.crt"))
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AppendCertsFromPEM(text)
	b := s.browser(t, roots)
	block, _ := pem.Decode(text)
	r, err := b.Get("https://shop.lan/trust/root.crt")
	if code, root := body(t, r, err); code != 200 || root != string(block.Bytes) || r.Header.Get("Strict-Transport-Security") == "" {
		t.Errorf("the root: %d, HSTS %q", code, r.Header.Get("Strict-Transport-Security"))
	}
	if _, err := s.browser(t, roots).Get("https://other.lan/"); err == nil {
		t.Error("the server answers for another name")
	}
	if _, err := s.browser(t, x509.NewCertPool()).Get("https://shop.lan/"); err == nil {
		t.Error("who does not trust the root reaches the server")
	}
	path := regexp.MustCompile(`/setup\?code=[\w-]{43}`).FindString(s.says)
	u, err := url.Parse(path)
	if err != nil || path == "" {
		t.Fatalf("the server says %q, without the way to the first owner", s.says)
	}
	r, err = b.PostForm("https://shop.lan/setup", url.Values{"code": {u.Query().Get("code")}, "name": {"Ada"}, "password": {"three blind mice"}})
	if code, text := body(t, r, err); code != http.StatusSeeOther {
		t.Fatalf("making the owner answers %d: %s", code, text)
	}
	if code, text := body(t, must(b.Get("https://shop.lan/office")), nil); code != 200 || !strings.Contains(text, "Ada, owner") {
		t.Errorf("the office answers %d", code)
	}
}

// TestTwoServers: two servers over one database; what is entered at one stands at
// the other, and stays when one is killed.
func TestTwoServers(t *testing.T) {
	base := pgtest.URL(t)
	name := "serve_" + strings.ToLower(filepath.Base(t.TempDir())+regexp.MustCompile(`\D`).ReplaceAllString(time.Now().Format("150405.000000"), ""))
	admin, err := pgx.Connect(t.Context(), base)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := admin.Exec(t.Context(), `create database `+name); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		defer admin.Close(context.Background())
		if _, err := admin.Exec(context.Background(), `drop database `+name+` with (force)`); err != nil {
			t.Error(err)
		}
	})
	u, err := url.Parse(base)
	if err != nil {
		t.Fatal(err)
	}
	u.Path = "/" + name
	one, two := startServer(t, 1, "--postgres", u.String()), startServer(t, 1, "--postgres", u.String())
	if strings.Contains(one.says, name) {
		t.Errorf("the server prints the address of its database: %q", one.says)
	}
	page := func(s *started, path string) string {
		_, text := body(t, must(http.Get("http://"+s.addr+path)), nil)
		return text
	}
	form := regexp.MustCompile(`name="form" value="([0-9A-Z]{26})"`).FindStringSubmatch(page(one, "/properties/new"))
	r, err := one.browser(t, nil).PostForm("http://"+one.addr+"/properties", url.Values{"form": {form[1]}, "name": {"12 Sample Lane"}})
	if code, text := body(t, r, err); code != http.StatusSeeOther {
		t.Fatalf("adding a property answers %d: %s", code, text)
	}
	one.c.Process.Kill()
	if !strings.Contains(page(two, "/"), "12 Sample Lane") {
		t.Error("what was entered at one server is not at the other")
	}
	rung(t, "one two three four\n", "user", "add", "Ada", "--role", "owner", "--password-stdin", "--postgres", u.String())
	if code, _ := body(t, must(two.browser(t, nil).Get("http://"+two.addr+"/")), nil); code != http.StatusSeeOther {
		t.Errorf("with an account, nobody gets %d from the server", code)
	}
}
