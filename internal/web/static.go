package web

import (
	"embed"
	"net/http"
)

//go:embed static
var static embed.FS

// staticFiles serves the style sheet, the script and the icon.
func staticFiles() http.Handler { return http.FileServerFS(static) }
