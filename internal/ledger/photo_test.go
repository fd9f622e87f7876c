package ledger

import (
	"encoding/json"
	"slices"
	"testing"

	"rung/internal/blob"
	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/record"
)

func photo(visit record.VisitID, unit record.UnitID, content string) record.PhotoTaken {
	return record.PhotoTaken{Visit: visit, Unit: unit, Hash: blob.HashOf([]byte(content)), Type: "image/jpeg", Bytes: len(content), Shows: "nameplate"}
}

// TestPhotos: a unit shows its photos over all visits, a visit its own, and
// those taken back are nowhere.
func TestPhotos(t *testing.T) {
	s := opened()
	s.add(record.VisitOpened{Visit: "V2", System: "S"})
	plate := s.add(photo("", "U", "plate"))
	first := s.add(photo("V", "U", "wiring"))
	wrong := s.add(photo("V", "", "a thumb"))
	later := s.add(photo("V2", "U", "panel"))
	s.add(record.PhotoMarked{Photo: first, Customer: true})
	s.add(record.PhotoMarked{Photo: later, Customer: true})
	s.add(record.PhotoMarked{Photo: later})
	s.add(record.PhotoMarked{Photo: wrong, Customer: true})
	back := s.add(record.EntryWithdrawn{Visit: "V", Entry: wrong})
	s.add(photo("V9", "U9", "of nothing here"))
	s.add(record.PhotoMarked{Photo: "nothing", Customer: true})
	s.add(record.PhotoTaken{Visit: "V", Hash: "../../photo.jpg", Type: "image/jpeg", Bytes: 1})

	p := s.fold()
	ids := func(list []*Photo) (ids []record.EntryID) {
		for _, x := range list {
			ids = append(ids, x.ID())
		}
		return ids
	}
	u, _, _ := p.Unit("U")
	v, _ := p.Visit("V")
	if got := ids(u.Photos); !slices.Equal(got, []record.EntryID{plate, first, later}) {
		t.Errorf("of the unit: %v", got)
	}
	if got := ids(v.Photos); !slices.Equal(got, []record.EntryID{first}) {
		t.Errorf("of the visit: %v", got)
	}
	if got := ids(p.Photos); !slices.Equal(got, []record.EntryID{plate, first, later}) {
		t.Errorf("of the property: %v", got)
	}
	for id, want := range map[record.EntryID]bool{plate: false, first: true, later: false} {
		if x, counts := p.Photo(id); !counts || x.Customer != want {
			t.Errorf("photo %s: for the customer %v, want %v", id, x.Customer, want)
		}
	}
	if len(p.Loose) != 3 {
		t.Errorf("loose: %v, want the two that refer to nothing and the one without a hash", p.Loose)
	}
	s.add(record.EntryWithdrawn{Entry: back})
	p = s.fold()
	if x, counts := p.Photo(wrong); !counts || !x.Customer {
		t.Errorf("after undoing, the photo is %+v", x)
	}
}

// TestPhotoLists: each picture stands once in the lists, newest entry, and goes
// when the last entry that names it is taken back.
func TestPhotoLists(t *testing.T) {
	s := opened()
	one, two := photo("V", "", "one"), photo("", "U", "two")
	s.add(one)
	second := s.add(two)
	again := s.add(one)
	log := memlog.New(Summary())
	lines := func() map[blob.Hash]PhotoLine {
		t.Helper()
		if err := log.Append(t.Context(), s.envelopes); err != nil {
			t.Fatal(err)
		}
		rows, err := log.Rows(t.Context(), ListPhotos, PhotoKey(house))
		if err != nil {
			t.Fatal(err)
		}
		found := map[blob.Hash]PhotoLine{}
		for _, r := range rows {
			var line PhotoLine
			if err := json.Unmarshal(r.Value, &line); err != nil {
				t.Fatal(err)
			}
			found[line.Hash] = line
		}
		return found
	}
	at := func(id record.EntryID) PhotoLine {
		x, _ := s.fold().Photo(id)
		return PhotoLine{Hash: x.Hash, Property: house, Bytes: 3, At: x.Stamp.At}
	}
	if got := lines(); len(got) != 2 || got[one.Hash] != at(again) || got[two.Hash] != at(second) {
		t.Errorf("the list is %v", got)
	}
	where := func(h blob.Hash) []journal.Row {
		rows, err := log.Rows(t.Context(), ListPhotoAt, string(h))
		if err != nil {
			t.Fatal(err)
		}
		return rows
	}
	if got := where(one.Hash); len(got) != 1 || string(got[0].Value) != string(house) {
		t.Errorf("the place of a photo is %v", got)
	}
	s.add(record.EntryWithdrawn{Entry: second})
	if got := lines(); len(got) != 1 || len(where(two.Hash)) != 0 {
		t.Errorf("after one was taken back the list is %v", got)
	}
}
