// Package bundle builds the part of the program that runs in the browser: it
// compiles cmd/wasm, packs it as servers send it, and copies the script that
// starts it out of the toolchain, which it must match.
//
// Only cmd/dev and tests use it; the program itself serves what was built.
package bundle

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"github.com/andybalholm/brotli"
)

// The files of a bundle.
const (
	Program  = "rung.wasm"    // packed, as Program + ".gz" and Program + ".br"
	Starter  = "wasm_exec.js" // of the toolchain
	packedOf = "packed.txt"   // the hash of the program that is packed here, and how
)

// Options say what to build.
type Options struct {
	Source  string // a directory of the module
	Into    string // the directory for the files, which must be there
	Tags    string // build tags, for tests
	Brotli  int    // quality, 1 to 11; 0 leaves that file out
	Inlined bool   // leave inlining to the compiler everywhere: larger, see cold
}

// Sizes of a program in bytes. Brotli is 0 if it was left out. Whole says why
// the program kept what only tracebacks read, if it did.
type Sizes struct {
	Raw, Gzip, Brotli int
	Whole             error
}

// hot are the packages that compute; calls are inlined in them and in what they
// lean on. Elsewhere code is kept small, because a phone downloads it: without
// inlining the whole is an eighth smaller.
var hot = []string{
	"math/...", "sort", "slices", "strings", "unicode/...", "hash/...", "crypto/...", "runtime/...", "internal/...", "sync/...",
	"rung/internal/num", "rung/internal/quantity", "rung/internal/refrigerant", "rung/internal/moistair", "rung/internal/circuit", "rung/internal/airflow",
	"rung/internal/cycle", "rung/internal/relay", "rung/internal/plant", "rung/internal/fieldtest", "rung/internal/fault", "rung/internal/diagnosis",
}

// Build makes the files. What is there already and would be the same is left.
func Build(ctx context.Context, o Options) (Sizes, error) {
	s, err := build(ctx, o)
	if err != nil {
		return s, fmt.Errorf("build for the browser: %w", err)
	}
	return s, nil
}

func build(ctx context.Context, o Options) (Sizes, error) {
	program, err := compile(ctx, o)
	if err != nil {
		return Sizes{}, err
	}
	version, err := toolchain(ctx, o, "GOVERSION")
	if err != nil {
		return Sizes{}, err
	}
	program, whole := slim(program, version)
	if err := copyStarter(ctx, o); err != nil {
		return Sizes{}, err
	}
	at := func(name string) string { return filepath.Join(o.Into, name) }
	how := fmt.Sprintf("%x brotli %d\n", sha256.Sum256(program), o.Brotli)
	if was, err := os.ReadFile(at(packedOf)); err != nil || string(was) != how {
		if err := pack(o, program); err != nil {
			return Sizes{}, err
		}
		if err := os.WriteFile(at(packedOf), []byte(how), 0o644); err != nil {
			return Sizes{}, err
		}
	}
	return Sizes{Raw: len(program), Gzip: sizeOf(at(Program + ".gz")), Brotli: sizeOf(at(Program + ".br")), Whole: whole}, nil
}

// slim leaves out of a program what only tracebacks read (see withoutLines). A
// program of a toolchain that may lay it out in another way is left as it is.
func slim(program []byte, version string) ([]byte, error) {
	if version != known && !strings.HasPrefix(version, known+".") {
		return program, fmt.Errorf("%w: the toolchain is %s", errTables, version)
	}
	m, err := takeApart(program)
	if err == nil {
		err = withoutLines(m.memory)
	}
	if err != nil {
		return program, err
	}
	return m.program(), nil
}

// sizeOf returns the size of a file, 0 if it is not there.
func sizeOf(path string) int {
	i, err := os.Stat(path)
	if err != nil {
		return 0
	}
	return int(i.Size())
}

// compile returns the program. A toolchain whose net/http wants more of a
// package than what stands in for it has gets the real one: a larger program,
// and the test of its size says so.
func compile(ctx context.Context, o Options) ([]byte, error) {
	dir, err := os.MkdirTemp("", "rung-wasm")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	overlay, err := standIns(ctx, o, dir)
	if err != nil {
		return nil, err
	}
	program, err := compileWith(ctx, o, dir, "-overlay="+overlay)
	if err != nil && ctx.Err() == nil {
		program, err = compileWith(ctx, o, dir)
	}
	return program, err
}

func compileWith(ctx context.Context, o Options, dir string, more ...string) ([]byte, error) {
	out := filepath.Join(dir, Program)
	args := append([]string{"build", "-trimpath", "-ldflags=-s -w", "-tags=" + o.Tags, "-o", out}, more...)
	if !o.Inlined {
		args = append(args, "-gcflags=all=-l")
		for _, p := range hot {
			args = append(args, "-gcflags="+p+"=")
		}
	}
	c := exec.CommandContext(ctx, "go", append(args, "rung/cmd/wasm")...)
	c.Dir = o.Source
	c.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if said, err := c.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("%w: %s", err, bytes.TrimSpace(said))
	}
	return os.ReadFile(out)
}

// toolchain returns what the toolchain says of itself.
func toolchain(ctx context.Context, o Options, variable string) (string, error) {
	c := exec.CommandContext(ctx, "go", "env", variable)
	c.Dir = o.Source
	value, err := c.Output()
	if err != nil {
		return "", fmt.Errorf("find the toolchain: %w", err)
	}
	return strings.TrimSpace(string(value)), nil
}

func copyStarter(ctx context.Context, o Options) error {
	root, err := toolchain(ctx, o, "GOROOT")
	if err != nil {
		return err
	}
	script, err := os.ReadFile(filepath.Join(root, "lib", "wasm", Starter))
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(o.Into, Starter), script, 0o644)
}

// pack writes the program packed.
func pack(o Options, program []byte) error {
	err := packInto(filepath.Join(o.Into, Program+".gz"), program, func(w io.Writer) (io.WriteCloser, error) {
		return gzip.NewWriterLevel(w, gzip.BestCompression)
	})
	other := filepath.Join(o.Into, Program+".br")
	if err != nil || o.Brotli == 0 {
		os.Remove(other)
		return err
	}
	return packInto(other, program, func(w io.Writer) (io.WriteCloser, error) {
		return brotli.NewWriterOptions(w, brotli.WriterOptions{Quality: o.Brotli, LGWin: widest}), nil
	})
}

func packInto(path string, program []byte, packer func(io.Writer) (io.WriteCloser, error)) error {
	var b bytes.Buffer
	w, err := packer(&b)
	if err != nil {
		return err
	}
	if _, err := w.Write(program); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	return os.WriteFile(path, b.Bytes(), 0o644)
}

// widest is the binary logarithm of how far back brotli looks: the whole of the
// program, where browsers allow it. The usual 22 packs a hundredth less.
const widest = 24
