package web

import (
	"encoding/json"
	"encoding/xml"
	"fmt"
	"image/png"
	"net/http/httptest"
	"strings"
	"testing"

	"rung/internal/journal/memlog"
	"rung/internal/ledger"
)

// TestIconsOfManifest: every icon the manifest names is there, of its kind and
// as large as it is said to be.
func TestIconsOfManifest(t *testing.T) {
	pages := newServerOf(t, "Ada", memlog.New(ledger.Summary()), nil).Handler()
	get := func(path string) *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		pages.ServeHTTP(w, httptest.NewRequest("GET", path, nil))
		if w.Code != 200 {
			t.Fatalf("%s: status %d", path, w.Code)
		}
		return w
	}
	var manifest struct {
		Icons []struct{ Src, Sizes, Type string }
	}
	if err := json.Unmarshal(get("/static/app.webmanifest").Body.Bytes(), &manifest); err != nil || len(manifest.Icons) == 0 {
		t.Fatalf("manifest with %d icons: %v", len(manifest.Icons), err)
	}
	for _, icon := range manifest.Icons {
		w := get(icon.Src)
		if got := w.Header().Get("Content-Type"); !strings.HasPrefix(got, icon.Type) {
			t.Errorf("%s is of type %s, the manifest says %s", icon.Src, got, icon.Type)
		}
		if icon.Type == "image/svg+xml" {
			var top struct{ XMLName xml.Name }
			if err := xml.Unmarshal(w.Body.Bytes(), &top); err != nil || top.XMLName.Local != "svg" {
				t.Errorf("%s is no drawing: %v", icon.Src, err)
			}
			continue
		}
		size, err := png.DecodeConfig(w.Body)
		if err != nil {
			t.Errorf("%s: %v", icon.Src, err)
		} else if got := fmt.Sprintf("%dx%d", size.Width, size.Height); got != icon.Sizes {
			t.Errorf("%s is %s, the manifest says %s", icon.Src, got, icon.Sizes)
		}
	}
}
