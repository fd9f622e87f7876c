package web

import (
	"net/http/httptest"
	"testing"
)

// TestReplacementsFitAPhone measures every planner on the screen of a phone,
// empty and answered, and plans one with a thumb and without a script.
func TestReplacementsFitAPhone(t *testing.T) {
	server := httptest.NewServer(newServer(t, nil).Handler())
	defer server.Close()
	p := newPhone(t, browsers(t), server.URL)
	p.open("/replace")
	for _, x := range replacers() {
		p.open("/replace/" + x.id)
		p.open("/replace/" + x.id + "?" + x.example.Encode())
	}
	q := newPhone(t, browsers(t), server.URL).withoutScripts()
	q.open("/replace").follow("Run capacitor, outdoor unit").fill("can-herm", "35").fill("can-volts", "370").fill("truck", "35 uF 440 V").press("What fits")
	q.says("#answer", "35 uF 440 V").says(".part", "Fits")
	// From a unit, with what its plate tells.
	q.enterHouse().follow("Replace a part").follow("Run capacitor, outdoor unit").fill("truck", "45+5 uF 440 V").press("What fits").says("#answer", "45+5 uF 440 V")
}
