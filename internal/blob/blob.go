// Package blob says how photos and other piles of bytes are kept beside the
// journal: each under the SHA-256 of its content.
//
// An entry of the journal names a blob by its hash, so a blob needs no name, no
// version and no order: it is there or it is not yet, and two stores are
// merged by giving each what it lacks. Nothing is changed or deleted.
//
// The stores live beside those of the journal, in the same file or database:
// memlog, sqlitelog, pglog and idblog. Package blobtest holds the suite that
// every one of them passes. Their errors are those of package journal.
package blob

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"

	"rung/internal/journal"
)

// MaxSize is the size of the largest blob in bytes.
//
// practice: a phone's own camera file is 3 to 6 MB; shrunk by the page a tenth.
const MaxSize = 8 << 20

// Hash names a blob: the SHA-256 of its bytes as 64 small hexadecimal digits.
type Hash string

// HashOf returns the hash of b.
func HashOf(b []byte) Hash {
	h := sha256.Sum256(b)
	return Hash(hex.EncodeToString(h[:]))
}

// ParseHash reads the text of a hash; anything else is an ErrHash.
func ParseHash(text string) (Hash, error) {
	if len(text) != hex.EncodedLen(sha256.Size) {
		return "", fmt.Errorf("%.70q: %w", text, ErrHash)
	}
	for _, c := range []byte(text) {
		if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return "", fmt.Errorf("%.70q: %w", text, ErrHash)
		}
	}
	return Hash(text), nil
}

// Binary returns the 32 bytes of a hash that ParseHash or HashOf made, and an
// ErrHash for any other text.
func (h Hash) Binary() ([]byte, error) {
	if _, err := ParseHash(string(h)); err != nil {
		return nil, err
	}
	return hex.DecodeString(string(h))
}

// HashFrom is the hash of 32 bytes that Binary returned.
func HashFrom(binary []byte) Hash { return Hash(hex.EncodeToString(binary)) }

// Errors of a Store, beside those of package journal.
var (
	ErrMissing = errors.New("no such blob is kept here")
	ErrHash    = errors.New("not the hash of these bytes")
)

// SizeError says that a blob is empty or larger than MaxSize.
type SizeError struct {
	Size, Limit int // bytes
}

func (e *SizeError) Error() string {
	if e.Size == 0 {
		return "the blob is empty"
	}
	return fmt.Sprintf("the blob has %d bytes, at most %d are kept", e.Size, e.Limit)
}

// Check returns a *SizeError or an ErrHash if b may not be kept under h.
func Check(h Hash, b []byte) error {
	if len(b) == 0 || len(b) > MaxSize {
		return &SizeError{Size: len(b), Limit: MaxSize}
	}
	if HashOf(b) != h {
		return fmt.Errorf("%.70s: %w", h, ErrHash)
	}
	return nil
}

// Sound returns journal.ErrCorrupt if b, as it was kept under h, has changed.
func Sound(h Hash, b []byte) error {
	if HashOf(b) != h {
		return fmt.Errorf("%w: blob %s does not match its hash", journal.ErrCorrupt, h)
	}
	return nil
}

// Store keeps blobs. It may be used by several goroutines, and several
// processes where the store of the journal beside it may.
type Store interface {
	// Put keeps b under its hash h. When it returns nil the bytes are durable, as
	// far as the store can be; when it fails nothing of them is kept, and all that
	// was kept before still is. Putting a blob again changes nothing. It gives a
	// *SizeError or an ErrHash for bytes that may not be kept, and
	// journal.ErrFull if there is no room.
	Put(ctx context.Context, h Hash, b []byte) error

	// Get returns the bytes of h, compared with it; ErrMissing if they are not
	// kept, journal.ErrCorrupt if they changed.
	Get(ctx context.Context, h Hash) ([]byte, error)

	// Missing returns those of a list that are not kept, in the order of the list.
	Missing(ctx context.Context, list []Hash) ([]Hash, error)
}

// Lacking returns those of a list that are not in kept, in the order of the list.
func Lacking(list []Hash, kept map[Hash]bool) []Hash {
	var lacking []Hash
	for _, h := range list {
		if !kept[h] {
			lacking = append(lacking, h)
		}
	}
	return lacking
}
