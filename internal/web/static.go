//go:build !js

package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"mime"
	"net/http"
	"path"
	"slices"
	"strings"
)

//go:embed static
var static embed.FS

// dist holds what cmd/dev built for the browser; on a fresh clone only a
// placeholder.
//
//go:embed all:dist
var dist embed.FS

// staticFile is what is served under a name, in every form it is kept in.
type staticFile struct {
	name, kind, tag string
	plain           []byte // nil if it is kept packed only
	gzip, brotli    []byte // nil if there is none
	size            int    // of the plain content
	sum             [sha256.Size]byte
	policy          string // instead of that of pages, if not empty
}

// workerPolicy is that of the worker script: it alone may compile the program.
// Beside that it fetches from this server, and loads the starter.
const workerPolicy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'"

// types of content that the system may not know.
var types = map[string]string{
	".wasm": "application/wasm", ".webmanifest": "application/manifest+json", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml",
	".css": "text/css; charset=utf-8", ".html": "text/html; charset=utf-8", ".json": "application/json", ".png": "image/png",
}

func newStaticFile(name string, content []byte) *staticFile {
	kind := types[path.Ext(name)]
	if kind == "" {
		kind = mime.TypeByExtension(path.Ext(name))
	}
	sum := sha256.Sum256(content)
	return &staticFile{name: name, kind: kind, tag: fmt.Sprintf(`"%x"`, sum), plain: content, size: len(content), sum: sum}
}

// ServeHTTP sends the file as the browser takes it, under a tag of its content
// so that it is fetched again only when it has changed.
func (f *staticFile) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("ETag", f.tag)
	h.Set("Cache-Control", "no-cache") // ask first; the answer is mostly "unchanged"
	h.Set("Content-Type", f.kind)
	if f.policy != "" {
		h.Set("Content-Security-Policy", f.policy)
	}
	if f.gzip != nil {
		h.Set("Vary", "Accept-Encoding")
	}
	if strings.Contains(r.Header.Get("If-None-Match"), f.tag) {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	content := f.plain
	switch accepts := r.Header.Get("Accept-Encoding"); {
	case f.brotli != nil && accepted(accepts, "br"):
		h.Set("Content-Encoding", "br")
		content = f.brotli
	case f.gzip != nil && accepted(accepts, "gzip"):
		h.Set("Content-Encoding", "gzip")
		content = f.gzip
	case content == nil:
		content, _ = unpack(f.gzip) // it was unpacked once before
	}
	h.Set("Content-Length", fmt.Sprint(len(content)))
	if r.Method != http.MethodHead {
		w.Write(content)
	}
}

// accepted reports whether a list of encodings names one, and not to refuse it.
func accepted(list, encoding string) bool {
	for part := range strings.SplitSeq(list, ",") {
		name, weight, _ := strings.Cut(strings.TrimSpace(part), ";")
		if strings.TrimSpace(name) == encoding {
			return strings.TrimRight(strings.ReplaceAll(weight, " ", ""), "0.") != "q="
		}
	}
	return false
}

func unpack(packed []byte) ([]byte, error) {
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(z)
}

// unlisted are files that the worker is made of, or that a page without worker
// has; they are not fetched into a phone.
var unlisted = map[string]bool{"/static/sw.js": true}

// staticFiles returns the style sheet, the scripts and the icons by address;
// and, if the part for the browser is there, what a phone needs to work without
// signal, with the name of that build.
func (s *Server) staticFiles() (files map[string]*staticFile, build string, err error) {
	files = map[string]*staticFile{}
	err = fs.WalkDir(static, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		content, err := static.ReadFile(name)
		files["/"+name] = newStaticFile("/"+name, content)
		return err
	})
	if err != nil {
		return nil, "", err
	}
	if err := s.addProgram(files); err != nil {
		return nil, "", err
	}
	if files["/static/rung.wasm"] == nil {
		return files, "", nil
	}
	build, err = addWorker(files)
	return files, build, err
}

// addProgram adds the program for the browser, what starts it, and what it is
// told about the shop; nothing if it was not built.
func (s *Server) addProgram(files map[string]*staticFile) error {
	from := s.Built
	if from == nil {
		from, _ = fs.Sub(dist, "dist") // it is there, see above
	}
	packed, err := fs.ReadFile(from, "rung.wasm.gz")
	if err != nil {
		return nil // not built in
	}
	plain, err := unpack(packed)
	if err != nil {
		return fmt.Errorf("rung.wasm.gz: %w", err)
	}
	program := newStaticFile("/static/rung.wasm", plain)
	program.plain, program.gzip = nil, packed
	if b, err := fs.ReadFile(from, "rung.wasm.br"); err == nil {
		program.brotli = b
	}
	starter, err := fs.ReadFile(from, "wasm_exec.js")
	if err != nil {
		return err
	}
	about, err := json.Marshal(map[string]string{"Name": s.Shop, "Phone": s.Phone})
	if err != nil {
		return err
	}
	for _, f := range []*staticFile{program, newStaticFile("/static/wasm_exec.js", starter), newStaticFile("/static/shop.json", about)} {
		files[f.name] = f
	}
	return nil
}

// addWorker adds the worker script with the list of what it must have, and
// returns the name of the build: the hash of all that, so that a change in any
// file is a new version.
func addWorker(files map[string]*staticFile) (string, error) {
	var assets [][3]any
	all := sha256.New()
	for _, name := range slices.Sorted(maps.Keys(files)) {
		f := files[name]
		fmt.Fprintf(all, "%s %x\n", name, f.sum)
		if !unlisted[name] {
			assets = append(assets, [3]any{name, f.size, fmt.Sprintf("%x", f.sum)})
		}
	}
	build := fmt.Sprintf("%x", all.Sum(nil)[:6])
	line, err := json.Marshal(map[string]any{"id": build, "assets": assets})
	if err != nil {
		return "", err
	}
	worker := newStaticFile("/sw.js", fmt.Appendf(nil, "const build = %s;\n%s", line, files["/static/sw.js"].plain))
	worker.policy = workerPolicy
	files["/sw.js"] = worker
	return build, nil
}

// addStatic routes the files, and keeps the name of the build.
func (s *Server) addStatic(mux *http.ServeMux) {
	files, build, err := s.staticFiles()
	if err != nil {
		panic("web: static files: " + err.Error()) // they are part of the program
	}
	s.build = build
	for name, f := range files {
		mux.Handle("GET "+name, f)
	}
	mux.Handle("GET /favicon.ico", files["/static/icon.svg"]) // asked for by pages that name no icon
}
