package web

import (
	"net/http/httptest"
	"testing"
)

// TestChainFitsAPhone records links with a thumb and without a script, takes
// one back, and measures every page on the way.
func TestChainFitsAPhone(t *testing.T) {
	server := httptest.NewServer(newServer(t, nil).Handler())
	defer server.Close()
	p := newPhone(t, browsers(t), server.URL).withoutScripts()
	p.enterHouse().follow("‹").follow("‹").follow("Thermostat to breaker").says(".lit h2", "Indoor unit of 2 upstairs").says(".chain", "attic")
	p.follow("Record what you found").says("h1", "Indoor unit of 2 upstairs")
	p.fill("place", "attic, over the stairs").fill("how", "call-started").press("Record it")
	p.says("[role=status]", "attic, over the stairs").says(".lit h2", "Outdoor unit").press("Undo").says("[role=status]", "Taken back")
	p.follow("Labels").says(".sheet", "2 upstairs")
}
