package bundle

import (
	"compress/gzip"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/andybalholm/brotli"
)

// budget is the most bytes that a phone may have to fetch for a version, packed
// with brotli as in a release: what 1 Mbit/s brings in 24 seconds.
const budget = 3_000_000

// TestBudget builds the program for the browser as for a release and weighs it.
// Quality 9 stands in for 11, which takes two minutes and more.
func TestBudget(t *testing.T) {
	const looser = 1.155 // measured: 3,449,615 bytes at 9 are 2,982,340 at 11
	dir := t.TempDir()
	s, err := Build(t.Context(), Options{Source: ".", Into: dir, Brotli: 9})
	if err != nil {
		t.Fatal(err)
	}
	if s.Whole != nil {
		t.Error(s.Whole)
	}
	t.Logf("raw %d, gzip %d, brotli 9 %d bytes", s.Raw, s.Gzip, s.Brotli)
	if float64(s.Brotli) > budget*looser {
		t.Errorf("%d bytes, want %.0f at most", s.Brotli, budget*looser)
	}
	sameContent(t, dir)

	at := filepath.Join(dir, Program+".br")
	before, err := os.Stat(at)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := Build(t.Context(), Options{Source: ".", Into: dir, Brotli: 9}); err != nil || again != s {
		t.Errorf("built again: %+v, %v, want %+v", again, err, s)
	}
	if after, err := os.Stat(at); err != nil || !after.ModTime().Equal(before.ModTime()) {
		t.Errorf("what had not changed was packed again: %v", err)
	}
}

// sameContent fails the test unless all packed files hold the same program.
func sameContent(t *testing.T, dir string) {
	t.Helper()
	read := func(name string, unpack func(io.Reader) (io.Reader, error)) string {
		f, err := os.Open(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		r, err := unpack(f)
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	a := read(Program+".gz", func(r io.Reader) (io.Reader, error) { return gzip.NewReader(r) })
	b := read(Program+".br", func(r io.Reader) (io.Reader, error) { return brotli.NewReader(r), nil })
	if a != b || len(a) < 4 || a[:4] != "\x00asm" {
		t.Errorf("the packed files hold %d and %d bytes, want the same program", len(a), len(b))
	}
	if script, err := os.ReadFile(filepath.Join(dir, Starter)); err != nil || len(script) == 0 {
		t.Errorf("%s: %d bytes, %v", Starter, len(script), err)
	}
}

// TestBuildFails says what the compiler says.
func TestBuildFails(t *testing.T) {
	if _, err := Build(t.Context(), Options{Source: t.TempDir(), Into: t.TempDir()}); err == nil {
		t.Error("a directory without the module builds")
	}
}
