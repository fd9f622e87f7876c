//go:build js

package web

import "net/http"

// addGallery adds nothing in the phone: nobody looks at made-up pages there,
// and everybody would download them.
func addGallery(*http.ServeMux) {}
