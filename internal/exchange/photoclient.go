package exchange

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"sync"
	"time"

	"rung/internal/blob"
	"rung/internal/journal"
	"rung/internal/ledger"
)

// album is the part of a client that exchanges photos. Without a store there is
// none.
type album struct {
	store   blob.Store
	room    func(context.Context) (bytes int64, known bool)
	running sync.Mutex // one RunPhotos at a time; it holds up no exchange of entries
}

// CarryPhotos lets the client exchange the photos of store. room says how much
// the device may still take; nil, or not known, is no limit. It is called before
// the client is used.
func (c *Client) CarryPhotos(store blob.Store, room func(context.Context) (bytes int64, known bool)) {
	c.album.store, c.album.room = store, room
}

// headroom is left free of photos from the office, so that readings always find
// room.
//
// practice: the entries of a year are some megabytes; a browser on a phone gives
// hundreds.
const headroom = 64 << 20

// offeredAnew is after how long all photos are offered again, in case the office
// has lost some that it once had.
const offeredAnew = 24 * time.Hour

// DonePhotos says what a run did.
type DonePhotos struct {
	Sent, Received int
	NoRoom         int // left at the office because there is little room here
	Damaged        int // here, and so not sent
}

// RunPhotos sends the photos that the office lacks and fetches those that this
// device lacks, one by one and the newest first. It runs after entries were
// exchanged and may stop at any moment: each photo that went through stays so.
// While one run is under way another does nothing, and does not wait: the first
// may take as long as somebody gives it.
func (c *Client) RunPhotos(ctx context.Context, t PhotoTransport) (DonePhotos, error) {
	var done DonePhotos
	if c.album.store == nil {
		return done, nil
	}
	if !c.album.running.TryLock() {
		return done, nil
	}
	defer c.album.running.Unlock()
	err := c.runPhotos(ctx, t, &done)
	problem := ""
	switch {
	case err != nil:
		problem = photoProblem(err)
	case done.Damaged > 0:
		problem = fmt.Sprintf("%d photos on this device are damaged and cannot be sent.", done.Damaged)
	case done.NoRoom > 0:
		problem = fmt.Sprintf("%d photos stay at the office: this device has little room left.", done.NoRoom)
	}
	note, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	if _, kept := c.change(note, func(s *state) { s.PhotoProblem = problem }); err == nil {
		err = kept
	}
	if err != nil {
		return done, fmt.Errorf("exchange photos: %w", err)
	}
	return done, nil
}

// photoProblem is Problem for photos: what has gone through is safe either way.
func photoProblem(err error) string {
	var e *Error
	switch {
	case errors.As(err, &e):
		return e.Message
	case errors.Is(err, journal.ErrFull):
		return "This device has no room for photos from the office."
	case errors.Is(err, context.DeadlineExceeded):
		return "Photos take long here. Those that went through are safe; the others go next time."
	}
	return "The office did not answer. Photos stay on this device; it is tried again."
}

// runPhotos works through what is to be sent and what is lacked, page by page.
func (c *Client) runPhotos(ctx context.Context, t PhotoTransport, done *DonePhotos) error {
	lines, err := photoLines(ctx, c.log, "")
	if err != nil {
		return err
	}
	s, err := c.change(ctx, func(s *state) { s.forgetPhotos(lines, c.now()) })
	if err != nil {
		return err
	}
	lacked, err := c.album.store.Missing(ctx, hashesOf(lines))
	if err != nil {
		return err
	}
	offers := slices.Collect(slices.Chunk(s.unsent(lines, lacked), maxHashes))
	seeks := slices.Collect(slices.Chunk(lacked, maxHashes))
	for i := range max(len(offers), len(seeks)) {
		q := PhotoRequest{Version: Version, Device: c.device, Wants: s.Wants}
		if i < len(offers) {
			q.Offer = offers[i]
		}
		if i < len(seeks) {
			q.Seek = seeks[i]
		}
		if err := c.photoPage(ctx, t, q, lines, done); err != nil {
			return err
		}
	}
	return nil
}

// photoPage asks about some photos, sends and fetches them.
func (c *Client) photoPage(ctx context.Context, t PhotoTransport, q PhotoRequest, lines []ledger.PhotoLine, done *DonePhotos) error {
	a, err := c.askPhotos(ctx, t, q)
	if err != nil {
		return err
	}
	if err := c.atOffice(ctx, a.Have...); err != nil {
		return err
	}
	for _, h := range only(q.Offer, a.Lack) {
		if err := c.sendPhoto(ctx, t, h, done); err != nil {
			return err
		}
	}
	sizes := map[blob.Hash]int{}
	for _, x := range lines {
		sizes[x.Hash] = x.Bytes
	}
	for _, h := range only(q.Seek, a.Hold) {
		if !c.album.hasRoom(ctx, sizes[h]) {
			done.NoRoom++
			continue
		}
		if err := c.fetchPhoto(ctx, t, h, done); err != nil {
			return err
		}
	}
	return nil
}

// only returns those of ours, in our order, that the other side named: the
// newest first, and nothing that was not asked for.
func only(ours, named []blob.Hash) []blob.Hash {
	set := setOf(named)
	return slices.DeleteFunc(slices.Clone(ours), func(h blob.Hash) bool { return !set[h] })
}

func (a *album) hasRoom(ctx context.Context, size int) bool {
	if a.room == nil {
		return true
	}
	left, known := a.room(ctx)
	return !known || left-int64(size) > headroom
}

func (c *Client) askPhotos(ctx context.Context, t PhotoTransport, q PhotoRequest) (PhotoAnswer, error) {
	body, err := json.Marshal(q)
	if err != nil {
		panic("exchange: " + err.Error()) // it holds nothing that JSON lacks
	}
	status, text, err := t.Do(ctx, http.MethodPost, PhotoPath, body)
	if err != nil {
		return PhotoAnswer{}, fmt.Errorf("%w: %w", errNoAnswer, err)
	}
	return readPhotoAnswer(status, text)
}

// readPhotoAnswer reads an answer or the refusal in it.
func readPhotoAnswer(status int, body []byte) (PhotoAnswer, error) {
	var a struct {
		PhotoAnswer
		refusal
	}
	err := json.Unmarshal(body, &a)
	switch {
	case err == nil && a.Error != nil:
		return PhotoAnswer{}, a.Error
	case err != nil, status != http.StatusOK, a.Version < 1:
		return PhotoAnswer{}, fmt.Errorf("%w (status %d)", ErrAnswer, status)
	}
	return a.PhotoAnswer, nil
}

// sendPhoto sends a photo. One that is damaged here, or that the office no longer
// wants, holds the others up as little as possible.
func (c *Client) sendPhoto(ctx context.Context, t PhotoTransport, h blob.Hash, done *DonePhotos) error {
	b, err := c.album.store.Get(ctx, h)
	if errors.Is(err, journal.ErrCorrupt) {
		done.Damaged++
		return nil
	}
	if err != nil {
		return err
	}
	status, text, err := t.Do(ctx, http.MethodPost, PhotoPath+"/"+string(h), b)
	if err != nil {
		return fmt.Errorf("%w: %w", errNoAnswer, err)
	}
	a, err := readPhotoAnswer(status, text)
	var e *Error
	if errors.As(err, &e) && e.Kind == NotNamed {
		return nil // taken back meanwhile
	}
	if err == nil && !slices.Contains(a.Have, h) {
		err = fmt.Errorf("%w: it does not tell of photo %s", ErrAnswer, h)
	}
	if err != nil {
		return err
	}
	done.Sent++
	return c.atOffice(ctx, h)
}

// fetchPhoto fetches a photo. What arrives damaged is not kept and is fetched
// again the next time.
func (c *Client) fetchPhoto(ctx context.Context, t PhotoTransport, h blob.Hash, done *DonePhotos) error {
	status, b, err := t.Do(ctx, http.MethodGet, PhotoPath+"/"+string(h), nil)
	if err != nil {
		return fmt.Errorf("%w: %w", errNoAnswer, err)
	}
	if status != http.StatusOK {
		_, err := readPhotoAnswer(status, b)
		var e *Error
		if errors.As(err, &e) && e.Kind == NotNamed {
			return nil
		}
		return err
	}
	if blob.Check(h, b) != nil {
		return fmt.Errorf("%w: photo %s did not arrive whole", ErrAnswer, h)
	}
	if err := c.album.store.Put(ctx, h, b); err != nil {
		return err
	}
	done.Received++
	return c.atOffice(ctx, h)
}

// atOffice remembers that the office has photos.
func (c *Client) atOffice(ctx context.Context, list ...blob.Hash) error {
	if len(list) == 0 {
		return nil
	}
	_, err := c.change(ctx, func(s *state) {
		if s.AtOffice == nil {
			s.AtOffice = marks{}
		}
		for _, h := range list {
			s.AtOffice[photoMark(h)] = true
		}
	})
	return err
}

// photoMark stands for a photo in the state.
func photoMark(h blob.Hash) mark { return markOf(journal.Stream(h)) }

// forgetPhotos forgets photos that the journal does not name any more, and once
// a day all, so that they are offered anew.
func (s *state) forgetPhotos(lines []ledger.PhotoLine, now time.Time) {
	if now.Sub(s.OfferedAnew) >= offeredAnew || now.Before(s.OfferedAnew) {
		s.OfferedAnew, s.AtOffice = now, nil
	}
	still := marks{}
	for _, x := range lines {
		if m := photoMark(x.Hash); s.AtOffice[m] {
			still[m] = true
		}
	}
	s.AtOffice = still
}

// unsent returns the photos that are here and, as far as is known, not at the
// office.
func (s *state) unsent(lines []ledger.PhotoLine, lacked []blob.Hash) []blob.Hash {
	return slices.DeleteFunc(blob.Lacking(hashesOf(lines), setOf(lacked)), func(h blob.Hash) bool { return s.AtOffice[photoMark(h)] })
}

// PhotoStatus is how the exchange of photos stands.
type PhotoStatus struct {
	Waiting []blob.Hash // here and not yet at the office, as far as is known, newest first
	Absent  int         // named by entries here, and not here
	Problem string
}

// Photos tells how the exchange of photos stands. It does not ask the office.
func (c *Client) Photos(ctx context.Context) (PhotoStatus, error) {
	if c.album.store == nil {
		return PhotoStatus{}, nil
	}
	lines, err := photoLines(ctx, c.log, "")
	if err != nil {
		return PhotoStatus{}, err
	}
	s, err := c.read(ctx)
	if err != nil {
		return PhotoStatus{}, err
	}
	lacked, err := c.album.store.Missing(ctx, hashesOf(lines))
	if err != nil {
		return PhotoStatus{}, fmt.Errorf("status of photos: %w", err)
	}
	return PhotoStatus{Waiting: s.unsent(lines, lacked), Absent: len(lacked), Problem: s.PhotoProblem}, nil
}
