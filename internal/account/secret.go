package account

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"

	"golang.org/x/crypto/argon2"
)

// tokenBytes is the length of a session's, phone's or code's secret.
//
// practice: 256 bits cannot be guessed, whatever the attacker's machine.
const tokenBytes = 32

// newToken returns a secret in the letters of an address.
func newToken(random io.Reader) (string, error) {
	b := make([]byte, tokenBytes)
	if _, err := io.ReadFull(random, b); err != nil {
		return "", fmt.Errorf("account: no random bits: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(b), nil
}

// hashToken returns the SHA-256 of a secret in hexadecimal: what is kept of it,
// and under what it is found. The secret has 256 bits of chance, so a plain hash
// is enough, and looking it up tells nothing by the time it takes.
func hashToken(token string) string {
	h := sha256.Sum256([]byte(token))
	return hex.EncodeToString(h[:])
}

// sameHash compares in a time that does not depend on where they differ.
func sameHash(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }

// Cost is what a guess at a password costs.
type Cost struct {
	Time    uint32 // passes
	Memory  uint32 // KiB
	Threads uint8
}

// DefaultCost is that of new passwords.
//
// published: OWASP Password Storage Cheat Sheet, Argon2id: m=19456 (19 MiB), t=2,
// p=1 (read as quoted elsewhere; the page itself not seen).
var DefaultCost = Cost{Time: 2, Memory: 19 * 1024, Threads: 1}

const (
	saltBytes = 16 // published: RFC 9106, section 3.1, recommended for password hashing
	keyBytes  = 32
	// atOnce is how many passwords are hashed at a time: each takes 19 MiB, and a
	// flood of sign-ins must not take the memory of the server.
	atOnce = 4
)

// hasher hashes passwords, a few at a time.
type hasher struct {
	cost   Cost
	random io.Reader
	slots  chan struct{}
}

func newHasher(c Cost, random io.Reader) *hasher {
	return &hasher{c, random, make(chan struct{}, atOnce)}
}

// hash returns the text that is kept of a password.
func (h *hasher) hash(ctx context.Context, password string) (string, error) {
	salt := make([]byte, saltBytes)
	if _, err := io.ReadFull(h.random, salt); err != nil {
		return "", fmt.Errorf("account: no random bits: %w", err)
	}
	key, err := h.key(ctx, password, salt, h.cost)
	if err != nil {
		return "", err
	}
	e := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, h.cost.Memory, h.cost.Time, h.cost.Threads,
		e.EncodeToString(salt), e.EncodeToString(key)), nil
}

func (h *hasher) key(ctx context.Context, password string, salt []byte, c Cost) ([]byte, error) {
	select {
	case h.slots <- struct{}{}:
		defer func() { <-h.slots }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	return argon2.IDKey([]byte(password), salt, c.Time, c.Memory, c.Threads, keyBytes), nil
}

// errHash says that a kept hash cannot be read.
var errHash = errors.New("account: the password kept cannot be read")

// matches reports whether password is the one that kept was made from. An empty
// kept costs the same time and never matches, so that an account that is not
// there is not told by the clock.
func (h *hasher) matches(ctx context.Context, password, kept string) (bool, error) {
	if kept == "" {
		_, err := h.key(ctx, password, make([]byte, saltBytes), h.cost)
		return false, err
	}
	var c Cost
	var version int
	parts := strings.Split(kept, "$")
	if len(parts) != 6 || parts[1] != "argon2id" {
		return false, errHash
	}
	_, err1 := fmt.Sscanf(parts[2]+" "+parts[3], "v=%d m=%d,t=%d,p=%d", &version, &c.Memory, &c.Time, &c.Threads)
	salt, err2 := base64.RawStdEncoding.DecodeString(parts[4])
	want, err3 := base64.RawStdEncoding.DecodeString(parts[5])
	if errors.Join(err1, err2, err3) != nil || version != argon2.Version || c.Time < 1 || c.Threads < 1 || len(want) != keyBytes {
		return false, errHash
	}
	key, err := h.key(ctx, password, salt, c)
	return err == nil && subtle.ConstantTimeCompare(key, want) == 1, err
}
