// Package authority is a small certificate authority for a shop whose server has
// no public name: a root that the shop's phones are told to trust, and the
// server's certificate under it.
//
// The root may vouch for the server's name and names below it and for nothing
// else (a name constraint, marked critical), so that who steals it cannot play
// another site to the phones. Its key lies in a directory that only the server's
// user can read.
package authority

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"
)

// How long certificates are valid.
//
// practice: browsers refuse server certificates of more than 398 days, also under
// a root of one's own on some platforms (memory); a root outlives the phones.
const (
	rootLife   = 10 * 365 * 24 * time.Hour
	serverLife = 397 * 24 * time.Hour
	renewUnder = 30 * 24 * time.Hour
	skew       = time.Hour // a phone whose clock is behind must not refuse a new one
)

// The files of the directory.
const (
	rootFile      = "root.crt"
	rootKeyFile   = "root.key"
	serverFile    = "server.crt"
	serverKeyFile = "server.key"
)

// Errors of the package.
var (
	ErrExists = errors.New("there is an authority in this directory already: phones that trust it would not trust a new one")
	ErrNone   = errors.New("there is no authority in this directory: make one with “rung authority init”")
	ErrName   = errors.New("not a name that a certificate can have: want one such as shop.lan")
	ErrOver   = errors.New("the root of the authority is too old to sign: make a new authority and let the phones trust it")
)

// Authority is a root with its key and the server's certificate.
type Authority struct {
	dir    string
	root   *x509.Certificate
	key    *ecdsa.PrivateKey
	mu     sync.Mutex
	server tls.Certificate
}

// Init makes an authority for a server of a name in a directory, which is made
// if it is not there. The name has a dot and is no address: an address changes,
// and what a phone keeps belongs to the name.
func Init(dir, name string, now time.Time) (*Authority, error) {
	name = strings.ToLower(strings.TrimSuffix(name, "."))
	if !validName(name) {
		return nil, fmt.Errorf("%q: %w", name, ErrName)
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("make authority: %w", err)
	}
	if _, err := os.Lstat(filepath.Join(dir, rootFile)); !errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("%s: %w", dir, ErrExists)
	}
	a := &Authority{dir: dir}
	if err := a.makeRoot(name, now); err != nil {
		return nil, fmt.Errorf("make authority: %w", err)
	}
	if err := a.makeServer(now); err != nil {
		return nil, fmt.Errorf("make authority: %w", err)
	}
	return a, nil
}

// validName reports whether a name is a host's with a dot in it.
func validName(name string) bool {
	if len(name) > 253 || !strings.Contains(name, ".") || net.ParseIP(name) != nil {
		return false
	}
	for label := range strings.SplitSeq(name, ".") {
		if label == "" || len(label) > 63 || strings.Trim(label, "-") != label {
			return false
		}
		for _, c := range label {
			if c != '-' && (c < '0' || c > '9') && (c < 'a' || c > 'z') {
				return false
			}
		}
	}
	return true
}

// Open reads an authority, and renews the server's certificate if it has less
// than thirty days left.
func Open(dir string, now time.Time) (*Authority, error) {
	a := &Authority{dir: dir}
	var err error
	if a.root, err = readCertificate(filepath.Join(dir, rootFile)); errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("%s: %w", dir, ErrNone)
	}
	if err == nil {
		a.key, err = readKey(filepath.Join(dir, rootKeyFile))
	}
	if err != nil {
		return nil, fmt.Errorf("open authority: %w", err)
	}
	if a.server, err = tls.LoadX509KeyPair(filepath.Join(dir, serverFile), filepath.Join(dir, serverKeyFile)); err == nil && now.Add(renewUnder).Before(a.server.Leaf.NotAfter) {
		return a, nil
	}
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("open authority: %w", err)
	}
	if err := a.makeServer(now); err != nil {
		return nil, fmt.Errorf("renew the certificate: %w", err)
	}
	return a, nil
}

// Root is the root certificate, DER.
func (a *Authority) Root() []byte { return a.root.Raw }

// Name is the server's name.
func (a *Authority) Name() string { return a.root.PermittedDNSDomains[0] }

// Until is when the server's certificate ends.
func (a *Authority) Until() time.Time {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.server.Leaf.NotAfter
}

// TLS is how the server shows its certificate. One that is never restarted
// renews it when somebody comes in the thirty days before its end.
func (a *Authority) TLS(now func() time.Time) *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) {
		a.mu.Lock()
		defer a.mu.Unlock()
		if at := now(); !at.Add(renewUnder).Before(a.server.Leaf.NotAfter) && at.Before(a.root.NotAfter.Add(-renewUnder)) {
			if err := a.makeServer(at); err != nil && at.After(a.server.Leaf.NotAfter) {
				return nil, fmt.Errorf("renew the certificate: %w", err)
			}
		}
		shown := a.server
		return &shown, nil
	}}
}

func (a *Authority) makeRoot(name string, now time.Time) error {
	key, serial, err := newKey()
	if err != nil {
		return err
	}
	none := &net.IPNet{IP: net.IPv4zero, Mask: net.CIDRMask(0, 32)}
	none6 := &net.IPNet{IP: net.IPv6zero, Mask: net.CIDRMask(0, 128)}
	template := &x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: "Authority of " + name},
		NotBefore: now.Add(-skew), NotAfter: now.Add(rootLife),
		IsCA: true, BasicConstraintsValid: true, MaxPathLen: 0, MaxPathLenZero: true,
		KeyUsage:                    x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: []string{name},
		ExcludedIPRanges: []*net.IPNet{none, none6}, // a constraint on names alone leaves addresses free
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		return err
	}
	if a.root, err = x509.ParseCertificate(der); err != nil {
		return err
	}
	a.key = key
	if err := a.writeKey(rootKeyFile, key); err != nil {
		return err
	}
	return a.write(rootFile, "CERTIFICATE", der, 0o644)
}

// makeServer makes and keeps a new certificate of the server.
func (a *Authority) makeServer(now time.Time) error {
	if now.After(a.root.NotAfter) {
		return ErrOver
	}
	key, serial, err := newKey()
	if err != nil {
		return err
	}
	until := now.Add(serverLife - skew)
	if until.After(a.root.NotAfter) {
		until = a.root.NotAfter
	}
	template := &x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: a.Name()}, DNSNames: []string{a.Name()},
		NotBefore: now.Add(-skew), NotAfter: until, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	der, err := x509.CreateCertificate(rand.Reader, template, a.root, &key.PublicKey, a.key)
	if err != nil {
		return err
	}
	if err := a.writeKey(serverKeyFile, key); err != nil {
		return err
	}
	if err := a.write(serverFile, "CERTIFICATE", der, 0o644); err != nil {
		return err
	}
	a.server, err = tls.LoadX509KeyPair(filepath.Join(a.dir, serverFile), filepath.Join(a.dir, serverKeyFile))
	return err
}

// newKey makes a key on the curve that every phone knows, and a serial number.
func newKey() (*ecdsa.PrivateKey, *big.Int, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, err
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 127))
	return key, serial, err
}

func (a *Authority) writeKey(name string, key *ecdsa.PrivateKey) error {
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	return a.write(name, "PRIVATE KEY", der, 0o600)
}

// write replaces a file whole.
func (a *Authority) write(name, kind string, der []byte, mode os.FileMode) error {
	path := filepath.Join(a.dir, name)
	if err := os.WriteFile(path+".new", pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), mode); err != nil {
		return err
	}
	return os.Rename(path+".new", path)
}

func readBlock(path, kind string) ([]byte, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	block, _ := pem.Decode(text)
	if block == nil || block.Type != kind {
		return nil, fmt.Errorf("%s holds no %s", path, strings.ToLower(kind))
	}
	return block.Bytes, nil
}

func readCertificate(path string) (*x509.Certificate, error) {
	der, err := readBlock(path, "CERTIFICATE")
	if err != nil {
		return nil, err
	}
	c, err := x509.ParseCertificate(der)
	if err == nil && (!c.IsCA || len(c.PermittedDNSDomains) != 1) {
		err = fmt.Errorf("%s is no root of ours", path)
	}
	return c, err
}

func readKey(path string) (*ecdsa.PrivateKey, error) {
	der, err := readBlock(path, "PRIVATE KEY")
	if err != nil {
		return nil, err
	}
	key, err := x509.ParsePKCS8PrivateKey(der)
	if err != nil {
		return nil, err
	}
	curve, ok := key.(*ecdsa.PrivateKey)
	if !ok {
		return nil, fmt.Errorf("%s holds no key of ours", path)
	}
	return curve, nil
}
