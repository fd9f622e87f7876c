package web

import "net/http"

// maxForm is the size of the largest form in bytes: text only, no photos.
const maxForm = 1 << 20

// policy lets a page load its own style sheet, script and pictures, send forms
// home, and nothing else.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; " +
	"manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// secure refuses forms from other sites and sets the headers of every answer.
//
// Referrer-Policy is same-origin and not no-referrer: with the latter a browser
// sends "Origin: null" with our own forms, which would then be refused where
// the pages run in the phone and no Sec-Fetch header is seen.
func secure(next http.Handler) http.Handler {
	guarded := http.NewCrossOriginProtection().Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("Referrer-Policy", "same-origin")
		h.Set("X-Content-Type-Options", "nosniff")
		guarded.ServeHTTP(w, r)
	})
}
