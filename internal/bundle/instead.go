package bundle

import (
	"context"
	"embed"
	"encoding/json"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
)

// instead holds what stands in for packages of the standard library that
// net/http links and the browser never calls, a tenth of the packed program. A
// file takes the place of the package of its name.
//
//go:embed instead
var instead embed.FS

// standIns writes the files into dir, and beside them the list by which the
// compiler takes them; it returns the path of that list.
func standIns(ctx context.Context, o Options, dir string) (string, error) {
	root, err := toolchain(ctx, o, "GOROOT")
	if err != nil {
		return "", err
	}
	replaced := map[string]string{} // file of the toolchain: what is read instead; empty if there is no such file
	err = fs.WalkDir(instead, "instead", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		pkg := strings.TrimSuffix(strings.TrimPrefix(name, "instead/"), ".go.txt")
		real, err := filepath.Glob(filepath.Join(root, "src", filepath.FromSlash(pkg), "*.go"))
		if err != nil {
			return err
		}
		for _, file := range real {
			replaced[file] = ""
		}
		content, err := instead.ReadFile(name)
		if err != nil {
			return err
		}
		at := filepath.Join(dir, path.Base(pkg)+".go")
		replaced[filepath.Join(root, "src", filepath.FromSlash(pkg), path.Base(pkg)+".go")] = at
		return os.WriteFile(at, content, 0o644)
	})
	if err != nil {
		return "", err
	}
	list, err := json.Marshal(map[string]any{"Replace": replaced})
	if err != nil {
		return "", err
	}
	at := filepath.Join(dir, "overlay.json")
	return at, os.WriteFile(at, list, 0o644)
}
