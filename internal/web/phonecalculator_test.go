package web

import (
	"net/http/httptest"
	"strings"
	"testing"

	"rung/internal/calc"
)

// TestCalculatorsFitAPhone measures the page of every calculator on the screen
// of a phone, empty and filled, and tells by the browser's own letters whether
// texts of a drawing cross.
func TestCalculatorsFitAPhone(t *testing.T) {
	server := httptest.NewServer(newServer(t, nil).Handler())
	defer server.Close()
	p := newPhone(t, browsers(t), server.URL)
	p.open("/calculators")
	for _, c := range calc.All() {
		p.open("/calculators/" + c.Name)
		p.open("/calculators/" + c.Name + "?" + exampleOf(c).Encode())
		p.textsApart()
	}
	// Typed with a thumb, without a script.
	q := newPhone(t, browsers(t), server.URL).withoutScripts()
	q.open("/calculators").follow("Superheat").fill("refrigerant", "R-454B").fill("pressure", "110").fill("line_temperature", "52").press("Work it out")
	q.says(".result", "Saturation temperature")
	q.follow("SI units").says(".result", "°C")
}

// textsApart fails the test if two texts of a drawing cross on the screen.
func (p *phone) textsApart() {
	p.t.Helper()
	crossing := ask[[]string](p, `(() => {
		const found = [], gap = 0.5;
		for (const svg of document.querySelectorAll("main svg")) {
			const texts = [...svg.querySelectorAll("text")].map(e => [e.textContent, e.getBBox()]);
			for (const [i, [a, x]] of texts.entries())
				for (const [b, y] of texts.slice(i + 1)) {
					const high = Math.min(x.y + 0.8 * x.height, y.y + 0.8 * y.height) - Math.max(x.y + 0.2 * x.height, y.y + 0.2 * y.height);
					if (x.x + gap < y.x + y.width && y.x + gap < x.x + x.width && high > 0) found.push(a + " and " + b);
				}
		}
		return found;
	})()`)
	if len(crossing) > 0 {
		p.t.Errorf("%s: texts cross: %s", p.where(), strings.Join(crossing, "; "))
	}
}
