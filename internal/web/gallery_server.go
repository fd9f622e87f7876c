//go:build !js

package web

import (
	"net/http"

	"rung/internal/web/gallery"
)

// addGallery routes the pages with made-up data.
func addGallery(mux *http.ServeMux) { mux.Handle("GET /gallery/", gallery.Handler()) }
