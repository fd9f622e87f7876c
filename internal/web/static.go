package web

import (
	"crypto/sha256"
	"embed"
	"fmt"
	"io/fs"
	"net/http"
)

//go:embed static
var static embed.FS

// staticFiles serves the style sheet, the script and the icon, each under a tag
// of its content so that a browser fetches it again only when it has changed.
func staticFiles() http.Handler {
	tags := map[string]string{}
	err := fs.WalkDir(static, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		content, err := static.ReadFile(path)
		tags["/"+path] = fmt.Sprintf(`"%x"`, sha256.Sum256(content))
		return err
	})
	if err != nil {
		panic("web: static files: " + err.Error()) // they are part of the program
	}
	files := http.FileServerFS(static)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if tag, known := tags[r.URL.Path]; known {
			w.Header().Set("ETag", tag)
			w.Header().Set("Cache-Control", "no-cache") // ask first; the answer is mostly "unchanged"
		}
		files.ServeHTTP(w, r)
	})
}
