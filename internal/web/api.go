package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"rung/internal/calc"
	"rung/internal/chart"
	"rung/internal/tradeunit"
)

// calcStatuses maps the kinds of error of a calculator to the status of the
// answer to one object. In an array each element fails alone and the status is
// 200.
var calcStatuses = map[calc.Kind]int{
	calc.Invalid:       http.StatusBadRequest,
	calc.NotFound:      http.StatusNotFound,
	calc.OutOfRange:    http.StatusUnprocessableEntity,
	calc.NoConvergence: http.StatusUnprocessableEntity,
	calc.Internal:      http.StatusInternalServerError,
}

// apiRoutes are the addresses of the programming interface.
func (s *Server) apiRoutes() map[string]http.HandlerFunc {
	return map[string]http.HandlerFunc{
		"GET /api/calc":               s.apiList,
		"GET /api/calc/{calculator}":  s.apiShow,
		"POST /api/calc/{calculator}": s.apiRun,
		"GET /api/openapi.json":       s.apiDescription,
		"/api/":                       s.apiNotFound,
	}
}

// writeJSON answers with a document of full precision.
func (s *Server) writeJSON(w http.ResponseWriter, r *http.Request, status int, doc any) {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(doc); err != nil {
		s.Log.Error("write", "path", r.URL.Path, "err", err) // the status is sent
	}
}

// apiFail answers with an error in the form of the contract.
func (s *Server) apiFail(w http.ResponseWriter, r *http.Request, err error) {
	e := calcError(err)
	status := calcStatuses[e.Kind]
	if status == http.StatusInternalServerError || status == 0 {
		s.Log.Error("request failed", "method", r.Method, "path", r.URL.Path, "err", err)
		status, e = http.StatusInternalServerError, &calc.Error{Kind: calc.Internal, Message: "something is wrong inside the program"}
	}
	s.writeJSON(w, r, status, calc.Failure(e))
}

func (s *Server) apiNotFound(w http.ResponseWriter, r *http.Request) {
	s.apiFail(w, r, &calc.Error{Kind: calc.NotFound, Message: "there is nothing at " + r.URL.Path + "; GET /api/openapi.json describes what there is"})
}

func (s *Server) apiList(w http.ResponseWriter, r *http.Request) {
	s.writeJSON(w, r, http.StatusOK, calc.List())
}

// apiCalculator finds the calculator of the address; false if there is none,
// which is then answered.
func (s *Server) apiCalculator(w http.ResponseWriter, r *http.Request, name string) (calc.Calculator, bool) {
	c, ok := calc.Lookup(name)
	if !ok {
		s.apiFail(w, r, &calc.Error{Kind: calc.NotFound, Message: fmt.Sprintf("no calculator %q; GET /api/calc lists all", name)})
	}
	return c, ok
}

// apiShow describes one calculator; with .svg behind its name it draws what the
// query asks for.
func (s *Server) apiShow(w http.ResponseWriter, r *http.Request) {
	name, drawing := strings.CutSuffix(r.PathValue("calculator"), ".svg")
	c, ok := s.apiCalculator(w, r, name)
	switch {
	case !ok:
	case drawing:
		s.apiDraw(w, r, c)
	default:
		s.writeJSON(w, r, http.StatusOK, c.Listing())
	}
}

// apiDraw answers with the drawing of a filled calculator. The query is that of
// its page.
func (s *Server) apiDraw(w http.ResponseWriter, r *http.Request, c calc.Calculator) {
	if !c.Drawn {
		s.apiFail(w, r, &calc.Error{Kind: calc.NotFound, Message: fmt.Sprintf("there is no drawing of %q", c.Name)})
		return
	}
	ask := askingOf(c, r.URL.Query())
	ask.sent = true
	a := ask.answer()
	if len(a.wrong) > 0 {
		s.apiFail(w, r, a.wrong[0])
		return
	}
	svg, err := chart.Draw(c.Name, a.in, a.out, ask.units)
	if err != nil {
		s.apiFail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Header().Set("Cache-Control", "no-store")
	if _, err := io.WriteString(w, svg); err != nil {
		s.Log.Error("write", "path", r.URL.Path, "err", err)
	}
}

// apiRun runs a calculator on one JSON object or an array of them.
func (s *Server) apiRun(w http.ResponseWriter, r *http.Request) {
	c, ok := s.apiCalculator(w, r, r.PathValue("calculator"))
	if !ok {
		return
	}
	units := tradeunit.SI
	switch u := r.URL.Query().Get("units"); u {
	case "", string(tradeunit.SI):
	case string(tradeunit.US):
		units = tradeunit.US
	default:
		s.apiFail(w, r, &calc.Error{Kind: calc.Invalid, Field: "units", Message: fmt.Sprintf("want si or us, not %q", u)})
		return
	}
	doc, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxForm))
	if err != nil {
		status, message := http.StatusBadRequest, "the document did not arrive"
		var tooLarge *http.MaxBytesError
		if errors.As(err, &tooLarge) {
			status, message = http.StatusRequestEntityTooLarge, "the document is too large; send it in pieces"
		}
		s.writeJSON(w, r, status, calc.Failure(&calc.Error{Kind: calc.Invalid, Message: message}))
		return
	}
	out, _ := c.RunJSON(doc, units)
	if failed, ok := out.(map[string]*calc.Error); ok { // one object, or no JSON at all
		s.apiFail(w, r, failed["error"])
		return
	}
	s.writeJSON(w, r, http.StatusOK, out)
}
