// Package blobtest holds the suite that every store of blobs passes unchanged.
package blobtest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"rung/internal/blob"
)

// Noise returns n bytes that cannot be packed, the same for the same seed.
func Noise(seed uint64, n int) []byte {
	b := make([]byte, n)
	source := rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8), byte(seed >> 16), byte(seed >> 24), 'b'})
	source.Read(b)
	return b
}

// Run runs the suite over stores that open makes empty.
func Run(t *testing.T, open func(testing.TB) blob.Store) {
	for _, c := range []struct {
		name string
		test func(*testing.T, blob.Store)
	}{
		{"kept as it was", keptAsItWas}, {"put again", putAgain}, {"refused", refused}, {"missing", missing}, {"the largest", largest}, {"at once", atOnce}, {"broken off", brokenOff},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(t, open(t)) })
	}
}

func put(t *testing.T, s blob.Store, b []byte) blob.Hash {
	t.Helper()
	h := blob.HashOf(b)
	if err := s.Put(t.Context(), h, b); err != nil {
		t.Fatalf("Put of %d bytes = %v", len(b), err)
	}
	return h
}

func holds(t *testing.T, s blob.Store, want []byte) {
	t.Helper()
	got, err := s.Get(t.Context(), blob.HashOf(want))
	if err != nil || !bytes.Equal(got, want) {
		t.Errorf("Get of %d bytes = %d bytes, %v", len(want), len(got), err)
	}
}

// keptAsItWas: what is given is kept, and neither the giver nor the taker can
// change it afterwards.
func keptAsItWas(t *testing.T, s blob.Store) {
	b := Noise(1, 100_000)
	given := slices.Clone(b)
	h := put(t, s, given)
	given[0] ^= 1
	holds(t, s, b)
	got, err := s.Get(t.Context(), h)
	if err != nil {
		t.Fatal(err)
	}
	got[1] ^= 1
	holds(t, s, b)
	zeros := make([]byte, 1000)
	put(t, s, zeros)
	holds(t, s, zeros)
}

func putAgain(t *testing.T, s blob.Store) {
	b := Noise(2, 1000)
	for range 3 {
		put(t, s, b)
	}
	holds(t, s, b)
}

func refused(t *testing.T, s blob.Store) {
	b := Noise(3, 1000)
	other := blob.HashOf(b[1:])
	if err := s.Put(t.Context(), other, b); !errors.Is(err, blob.ErrHash) {
		t.Errorf("Put under another hash = %v, want ErrHash", err)
	}
	var size *blob.SizeError
	large := make([]byte, blob.MaxSize+1)
	for _, b := range [][]byte{{}, large} {
		if err := s.Put(t.Context(), blob.HashOf(b), b); !errors.As(err, &size) {
			t.Errorf("Put of %d bytes = %v, want a SizeError", len(b), err)
		}
	}
	for _, h := range []blob.Hash{other, blob.HashOf(large), blob.HashOf(b)} {
		if got, err := s.Get(t.Context(), h); !errors.Is(err, blob.ErrMissing) || got != nil {
			t.Errorf("Get of what was refused = %d bytes, %v, want ErrMissing", len(got), err)
		}
	}
	if _, err := s.Get(t.Context(), "../etc"); err == nil {
		t.Error("Get of what is no hash gives no error")
	}
}

// missing: the order of the question is kept, however long it is.
func missing(t *testing.T, s blob.Store) {
	if list, err := s.Missing(t.Context(), nil); err != nil || len(list) > 0 {
		t.Errorf("Missing of nothing = %v, %v", list, err)
	}
	var all, want []blob.Hash
	for i := range 1500 {
		b := fmt.Appendf(nil, "blob %d", (i*7919)%1500)
		all = append(all, blob.HashOf(b))
		if i%300 == 7 {
			put(t, s, b)
		} else {
			want = append(want, blob.HashOf(b))
		}
	}
	if got, err := s.Missing(t.Context(), all); err != nil || !slices.Equal(got, want) {
		t.Errorf("Missing = %d of %d hashes, %v, want %d in their order", len(got), len(all), err, len(want))
	}
}

func largest(t *testing.T, s blob.Store) {
	b := Noise(4, blob.MaxSize)
	put(t, s, b)
	holds(t, s, b)
}

// atOnce: several goroutines put some of the same blobs.
func atOnce(t *testing.T, s blob.Store) {
	var working sync.WaitGroup
	for i := range 8 {
		working.Go(func() {
			for k := range 10 {
				b := Noise(uint64(100+(i+k)%12), 5000)
				if err := s.Put(t.Context(), blob.HashOf(b), b); err != nil {
					t.Errorf("Put = %v", err)
				}
				if got, err := s.Get(t.Context(), blob.HashOf(b)); err != nil || !bytes.Equal(got, b) {
					t.Errorf("Get after Put = %d bytes, %v", len(got), err)
				}
			}
		})
	}
	working.Wait()
}

func brokenOff(t *testing.T, s blob.Store) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	b := Noise(5, 1000)
	if err := s.Put(ctx, blob.HashOf(b), b); !errors.Is(err, context.Canceled) {
		t.Errorf("Put = %v, want it broken off", err)
	}
	if list, err := s.Missing(t.Context(), []blob.Hash{blob.HashOf(b)}); err != nil || len(list) != 1 {
		t.Errorf("after it was broken off Missing = %v, %v", list, err)
	}
}
