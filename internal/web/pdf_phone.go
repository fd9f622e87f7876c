//go:build js

package web

// pdf gives no address in the phone: what writes a PDF is a twentieth of the
// program, and the browser saves every paper as PDF when it prints.
func pdf(string) string { return "" }

// pdfRoutes lists nothing in the phone.
func (s *Server) pdfRoutes() map[string]answer { return nil }
