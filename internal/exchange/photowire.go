package exchange

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"rung/internal/blob"
	"rung/internal/journal"
	"rung/internal/ledger"
	"rung/internal/record"
)

// PhotoPath is where the office is asked about photos; below it, under its
// hash, it takes and gives each: POST and GET.
const PhotoPath = Path + "/photos"

// maxHashes is how many photos one question names, of those had and of those
// lacked each.
const maxHashes = 500

// PhotoRequest is what a device asks about photos. Their bytes travel in
// requests of their own.
type PhotoRequest struct {
	Version int              `json:"version"`
	Device  string           `json:"device"`
	Offer   []blob.Hash      `json:"offer,omitempty"` // the device has
	Seek    []blob.Hash      `json:"seek,omitempty"`  // the device lacks
	Wants   []journal.Stream `json:"wants,omitempty"` // as in Request
}

// PhotoAnswer is what comes back. What was offered and stands in neither Lack
// nor Have is not named by the office's journal: its entry has not arrived.
type PhotoAnswer struct {
	Version int         `json:"version"`
	Lack    []blob.Hash `json:"lack,omitempty"` // of Offer: to be sent
	Have    []blob.Hash `json:"have,omitempty"` // of Offer: there already
	Hold    []blob.Hash `json:"hold,omitempty"` // of Seek: to be fetched
}

// PhotoTransport carries a request about photos to an address of the office,
// PhotoPath or below. An error means that nobody knows whether it got there.
type PhotoTransport interface {
	Do(ctx context.Context, method, path string, body []byte) (status int, answer []byte, err error)
}

// ContentType is that of the body of a request to an address of the office.
func ContentType(path string) string {
	if strings.HasPrefix(path, PhotoPath+"/") {
		return "application/octet-stream"
	}
	return "application/json"
}

// photoLines returns the pictures that a journal names, of all properties or of
// one, the newest first and each once.
func photoLines(ctx context.Context, log journal.Log, only record.PropertyID) ([]ledger.PhotoLine, error) {
	prefix := ""
	if only != "" {
		prefix = ledger.PhotoKey(only)
	}
	rows, err := log.Rows(ctx, ledger.ListPhotos, prefix)
	if err != nil {
		return nil, fmt.Errorf("list photos: %w", err)
	}
	lines := make([]ledger.PhotoLine, len(rows))
	for i, r := range rows {
		if err := json.Unmarshal(r.Value, &lines[i]); err != nil {
			return nil, fmt.Errorf("list photos: %s: %w", r.Key, err)
		}
	}
	slices.SortFunc(lines, func(a, b ledger.PhotoLine) int {
		return cmp.Or(b.At.Compare(a.At), strings.Compare(string(a.Hash), string(b.Hash)))
	})
	seen := map[blob.Hash]bool{}
	return slices.DeleteFunc(lines, func(x ledger.PhotoLine) bool {
		again := seen[x.Hash]
		seen[x.Hash] = true
		return again
	}), nil
}

func hashesOf(lines []ledger.PhotoLine) []blob.Hash {
	list := make([]blob.Hash, len(lines))
	for i, x := range lines {
		list[i] = x.Hash
	}
	return list
}

// placesOf returns the properties whose photos a hash is among; none if the
// journal does not name it.
func placesOf(ctx context.Context, log journal.Log, h blob.Hash) ([]record.PropertyID, error) {
	rows, err := log.Rows(ctx, ledger.ListPhotoAt, string(h))
	if err != nil {
		return nil, fmt.Errorf("find a photo: %w", err)
	}
	var list []record.PropertyID
	for _, r := range rows {
		if r.Key == string(h) {
			list = append(list, record.PropertyID(r.Value))
		}
	}
	return list, nil
}
