package blob

import (
	"errors"
	"strings"
	"testing"

	"rung/internal/journal"
)

// published: FIPS 180-4 example "abc", as printed in the examples file of NIST
// for SHA-256.
const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"

func TestHash(t *testing.T) {
	if got := HashOf([]byte("abc")); got != abc {
		t.Errorf("HashOf(abc) = %s", got)
	}
	h, err := ParseHash(abc)
	b, err2 := h.Binary()
	if err != nil || err2 != nil || HashFrom(b) != abc {
		t.Errorf("ParseHash = %s, %v; its bytes give %s, %v", h, err, HashFrom(b), err2)
	}
	for _, bad := range []string{"", abc[1:], abc + "0", strings.ToUpper(abc), "g" + abc[1:], "../" + abc[3:]} {
		if _, err := ParseHash(bad); !errors.Is(err, ErrHash) {
			t.Errorf("ParseHash(%q) = %v, want ErrHash", bad, err)
		}
		if _, err := Hash(bad).Binary(); !errors.Is(err, ErrHash) {
			t.Errorf("Binary of %q = %v, want ErrHash", bad, err)
		}
	}
}

func TestCheck(t *testing.T) {
	large := make([]byte, MaxSize+1)
	var size *SizeError
	for _, b := range [][]byte{nil, large} {
		if err := Check(HashOf(b), b); !errors.As(err, &size) || size.Size != len(b) || size.Limit != MaxSize || size.Error() == "" {
			t.Errorf("Check of %d bytes = %v, want a SizeError", len(b), err)
		}
	}
	if err := Check(abc, []byte("abd")); !errors.Is(err, ErrHash) {
		t.Errorf("Check of other bytes = %v, want ErrHash", err)
	}
	if err := Check(HashOf(large[1:]), large[1:]); err != nil {
		t.Errorf("Check of the largest = %v", err)
	}
	if err := Sound(abc, []byte("abd")); !errors.Is(err, journal.ErrCorrupt) {
		t.Errorf("Sound of other bytes = %v, want ErrCorrupt", err)
	}
}
