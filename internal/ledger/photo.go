package ledger

import (
	"time"

	"rung/internal/blob"
	"rung/internal/journal"
	"rung/internal/record"
)

// Photo is a photo that counts. Customer is as last marked.
type Photo struct {
	record.PhotoTaken
	Stamp Stamp
}

// ID returns the id by which the photo is named in a withdrawal.
func (x *Photo) ID() record.EntryID { return x.Stamp.Entry }

// Photo returns the photo of an entry, if it counts.
func (p *Property) Photo(id record.EntryID) (*Photo, bool) {
	return find(p.Photos, func(x *Photo) bool { return x.ID() == id })
}

// placePhoto puts a photo to its visit and its unit, of which one is known at
// least. One without the hash of a picture is nowhere: no store could be asked
// for it.
func (f *folder) placePhoto(x *Photo) bool {
	if _, err := blob.ParseHash(string(x.Hash)); err != nil {
		return false
	}
	v, onVisit := f.p.Visit(x.Visit)
	if onVisit {
		v.Photos = append(v.Photos, x)
	}
	u, _, ofUnit := f.p.Unit(x.Unit)
	if ofUnit {
		u.Photos = append(u.Photos, x)
	}
	if onVisit || ofUnit {
		f.p.Photos = append(f.p.Photos, x)
	}
	return onVisit || ofUnit
}

// PhotoLine is a picture that the journal names, in a list.
type PhotoLine struct {
	Hash     blob.Hash         `json:"hash"`
	Property record.PropertyID `json:"property"`
	Bytes    int               `json:"bytes"`
	At       time.Time         `json:"at"` // of the last entry that names it
}

// PhotoKey begins the keys of the photos of a property in ListPhotos.
func PhotoKey(p record.PropertyID) string { return string(p) + "|" }

// photoRows lists every picture once, however many entries name it.
func (p *Property) photoRows() []journal.Row {
	last := map[blob.Hash]int{}
	for i, x := range p.Photos {
		last[x.Hash] = i
	}
	var list []journal.Row
	for i, x := range p.Photos {
		if last[x.Hash] != i {
			continue
		}
		list = append(list,
			row(ListPhotos, PhotoKey(p.Property)+string(x.Hash), PhotoLine{Hash: x.Hash, Property: p.Property, Bytes: x.Bytes, At: x.Stamp.At}),
			journal.Row{List: ListPhotoAt, Key: string(x.Hash), Value: []byte(p.Property)})
	}
	return list
}
