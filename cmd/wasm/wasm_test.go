//go:build !js

package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// foreign are the modules the program for the browser may be made of, beside
// the standard library and our own packages.
var foreign = map[string]bool{"github.com/a-h/templ": true, "rsc.io/qr": true}

// forBrowser runs the go command for the browser and returns what it printed.
func forBrowser(t *testing.T, args ...string) []byte {
	t.Helper()
	c := exec.Command("go", args...)
	c.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	c.Stderr = os.Stderr
	out, err := c.Output()
	if err != nil {
		t.Fatalf("go %s: %v", strings.Join(args, " "), err)
	}
	return out
}

// TestModules: what is linked into the phone is chosen, not picked up. Stores
// of a server and commands are not in it.
func TestModules(t *testing.T) {
	ours := 0
	for line := range strings.Lines(string(forBrowser(t, "list", "-deps", "-f", "{{.ImportPath}} {{with .Module}}{{.Path}}{{end}}", "."))) {
		path, module, _ := strings.Cut(strings.TrimSpace(line), " ")
		switch {
		case module == "rung":
			ours++
		case module != "" && !foreign[module]:
			t.Errorf("%s of module %s is linked into the program for the browser", path, module)
		}
		for _, not := range []string{"rung/internal/cli", "rung/internal/demo", "rung/internal/web/gallery", "rung/internal/bundle", "rung/internal/journal/sqlitelog", "database/sql", "os/exec"} {
			if path == not {
				t.Errorf("%s is linked into the program for the browser", path)
			}
		}
	}
	if ours < 20 {
		t.Errorf("only %d packages of our own are linked", ours)
	}
}

// TestNoClient: neither the client nor the server of net/http is linked, which
// would be megabytes; the handlers need neither. The names of functions stand
// in the program for tracebacks.
func TestNoClient(t *testing.T) {
	out := filepath.Join(t.TempDir(), "rung.wasm")
	forBrowser(t, "build", "-o", out, ".")
	program, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(program, []byte("net/http.(*ServeMux)")) {
		t.Fatal("no names of functions in the program: nothing is shown by this test")
	}
	for _, name := range []string{"net/http.(*Transport).RoundTrip", "net/http.(*Client).do", "net/http.(*conn).serve", "net/http.(*Server).Serve", "text/template.(*Template).Execute"} {
		if bytes.Contains(program, []byte(name+"\x00")) {
			t.Errorf("%s is linked into the program for the browser", name)
		}
	}
}
