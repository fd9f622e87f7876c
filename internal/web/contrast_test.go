package web

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"strconv"
	"testing"
)

// TestContrast computes the contrast of every pair of colours that carries text
// or a control, in each light.
//
// published: WCAG 2.2, definitions of relative luminance and contrast ratio;
// success criteria 1.4.3 (text 4.5:1) and 1.4.11 (controls 3:1).
func TestContrast(t *testing.T) {
	sheet, err := os.ReadFile("static/app.css")
	if err != nil {
		t.Fatal(err)
	}
	lights := palettes(t, string(sheet))
	if len(lights) != 4 { // day, dark twice (chosen, and by the phone), sun
		t.Fatalf("%d palettes in the style sheet, want 4", len(lights))
	}
	for name, p := range lights {
		for _, c := range []struct {
			front, back string
			least       float64
		}{
			{"ink", "paper", 7}, {"ink", "card", 7}, {"soft", "paper", 4.5}, {"soft", "card", 4.5}, {"act", "paper", 4.5}, {"act", "card", 4.5},
			{"on-act", "act", 4.5}, {"copper", "paper", 4.5}, {"copper", "card", 4.5}, {"paper", "copper", 4.5}, {"bad", "paper", 4.5}, {"bad", "bad-soft", 4.5}, {"bad", "card", 4.5},
			{"ink", "bad-soft", 7}, {"good", "card", 4.5}, {"ink", "good-soft", 7}, {"soft", "good-soft", 4.5}, {"ink", "mind", 7}, {"paper", "bad", 4.5},
			{"line", "paper", 3}, {"line", "card", 3}, {"off", "paper", 3}, {"mind-line", "paper", 3}, {"good", "paper", 3},
		} {
			if got := contrast(p[c.front], p[c.back]); got < c.least {
				t.Errorf("%s: %s on %s has %.2f:1, want %v:1", name, c.front, c.back, got, c.least)
			}
		}
	}
}

// palettes returns the colours of each light; what a light does not name it
// takes from the first.
func palettes(t *testing.T, sheet string) map[string]map[string][3]float64 {
	t.Helper()
	block := regexp.MustCompile(`(?s)\n(?::root|html\[data-light="(\w+)"\]|  html:not\(\[data-light\]\)) \{(.*?)\}`)
	colour := regexp.MustCompile(`--([a-z-]+): #([0-9a-f]{6});`)
	lights := map[string]map[string][3]float64{}
	for i, b := range block.FindAllStringSubmatch(sheet, -1) {
		p := map[string][3]float64{}
		for _, c := range colour.FindAllStringSubmatch(b[2], -1) {
			p[c[1]] = rgb(t, c[2])
		}
		if len(p) < 10 {
			continue // the print sheet
		}
		lights[fmt.Sprint(i, " ", b[1])] = p
	}
	return lights
}

func rgb(t *testing.T, hex string) (c [3]float64) {
	t.Helper()
	for i := range c {
		v, err := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		if err != nil {
			t.Fatal(err)
		}
		c[i] = float64(v) / 255
	}
	return c
}

func luminance(c [3]float64) float64 {
	for i, v := range c {
		if v <= 0.04045 {
			c[i] = v / 12.92
		} else {
			c[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return 0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2]
}

func contrast(a, b [3]float64) float64 {
	x, y := luminance(a), luminance(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

// published: WCAG 2.2, contrast ratio: black on white is 21:1.
func TestContrastOfBlackOnWhite(t *testing.T) {
	if got := contrast([3]float64{}, [3]float64{1, 1, 1}); math.Abs(got-21) > 1e-9 {
		t.Errorf("black on white is %v:1, want 21:1", got)
	}
}
