package web

import (
	"testing"
	"time"
)

func TestTmp(t *testing.T) {
	b := newBasement(t, "").setUp()
	b.noSignal()
	b.enterHouse()
	from := time.Now()
	b.follow("Open a visit").fill("words", "x").fill("complaint", "not-cooling").fill("refrigerant", "yes")
	b.press("Open visit")
	b.fill("outdoor-dry-bulb", "95").fill("return-dry-bulb", "80").fill("return-wet-bulb", "67").fill("line-voltage", "240")
	from = time.Now()
	b.press("Save surroundings")
	t.Log("first advice", time.Since(from))
	base := "/visits/" + string(b.visitID())
	for range 2 {
		for _, p := range []string{"", "/checks", "/checks/look-listen", "/ladder", "/sequence"} {
			ms := ask[float64](b.phone, `(async () => { const t = performance.now(); const r = await fetch("`+base+p+`"); await r.text(); return r.status === 200 ? performance.now() - t : -r.status; })()`)
			t.Log(p, ms)
		}
	}
	b.open("/phone").standing("✓")
	t.Log(b.text("#standing"))
}
func TestTmpNative(t *testing.T) {
	b := newBrowser(t).visit()
	v := b.at.Path
	for range 2 {
		for _, p := range []string{"", "/checks", "/checks/look-listen", "/ladder", "/sequence"} {
			from := time.Now()
			b.open(v + p)
			t.Log(p, time.Since(from))
		}
	}
}
