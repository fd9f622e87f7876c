package web

import (
	"net/http/httptest"
	"testing"
)

// TestLearnedFitsAPhone reads on the screen of a phone what the shop's calls
// taught, sets it aside and counts again, with a thumb and without a script.
func TestLearnedFitsAPhone(t *testing.T) {
	server := httptest.NewServer(newServer(t, nil).Handler())
	defer server.Close()
	p := newPhone(t, browsers(t), server.URL).withoutScripts()
	p.open("/learned").says("h1", "What your calls taught").says("table.numbers", "Base")
	p.open("/learned?kind=gas-furnace")
	p.open("/learned").fill("why", "other equipment").press("Count from today on").says("[role=status]", "from today on").says(".doubt", "other equipment")
	p.press("Count the earlier calls again").says("[role=status]", "count again")
}
