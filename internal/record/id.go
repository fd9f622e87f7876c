package record

import (
	"strings"

	"rung/internal/journal"
)

// EntryID is the id of an entry of the journal, in its canonical text.
type EntryID string

// Ids of what an entry created: the text of that entry's own id.
type (
	PropertyID       string
	SystemID         string
	UnitID           string
	VisitID          string
	TaskID           string
	RecommendationID string
)

const propertyPrefix = "property/"

// Stream returns the stream in which everything about the property stands: its
// systems, units, visits and tasks.
func (p PropertyID) Stream() journal.Stream { return journal.Stream(propertyPrefix + string(p)) }

// ShopStream is the stream of what concerns the whole shop; every phone carries it.
const ShopStream journal.Stream = "shop"

// PropertyOf returns the property of a stream; false if it is no property's.
func PropertyOf(s journal.Stream) (PropertyID, bool) {
	id, ok := strings.CutPrefix(string(s), propertyPrefix)
	return PropertyID(id), ok && id != ""
}
