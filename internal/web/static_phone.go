//go:build js

package web

import "net/http"

// addStatic adds nothing in the phone: the worker answers for the files, which
// it keeps outside of the program.
func (s *Server) addStatic(*http.ServeMux) {}
