package web

import (
	"context"
	"io"
	"testing"

	"rung/internal/web/gallery"
)

// BenchmarkPages draws every page of the gallery. Budget: 20 ms for all of
// them on a 2 GHz core, so that a phone at a tenth of that draws one in 10 ms.
func BenchmarkPages(b *testing.B) {
	pictures := gallery.Pictures()
	for b.Loop() {
		for _, p := range pictures {
			if err := p.Page.Render(context.Background(), io.Discard); err != nil {
				b.Fatal(err)
			}
		}
	}
}

// BenchmarkLadder answers a tap on the ladder of a real visit: fold, solve,
// draw. Budget: 50 ms on a 2 GHz core.
func BenchmarkLadder(b *testing.B) {
	browser := quickBrowser(b).visit()
	path := browser.at.Path + "/ladder?red=T1&black=T2"
	for b.Loop() {
		if r := browser.raw(path); r.StatusCode != 200 {
			b.Fatal(r.Status)
		}
	}
}
