package exchange

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"slices"
	"testing"
	"time"

	"rung/internal/blob"
	"rung/internal/blob/blobtest"
	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/record"
)

func (w wire) Do(ctx context.Context, method, path string, body []byte) (int, []byte, error) {
	r := httptest.NewRequestWithContext(ctx, method, path, bytes.NewReader(body))
	a := httptest.NewRecorder()
	w.ServeHTTP(a, r)
	return a.Code, a.Body.Bytes(), nil
}

// camera is a device that takes photos.
type camera struct {
	*Client
	log   *memlog.Log
	name  string
	n     int
	clock func() time.Time
}

func newCamera(name string, now func() time.Time) *camera {
	c := &camera{log: memlog.New(ledger.Summary()), name: name, clock: now}
	c.Client = NewClient(c.log, &kept{}, name, now)
	c.CarryPhotos(c.log.Blobs(), nil)
	return c
}

// note writes an event about a house.
func (c *camera) note(t testing.TB, house record.PropertyID, event record.Event) record.EntryID {
	t.Helper()
	c.n++
	e := journal.Envelope{Stream: house.Stream(), Device: c.name, Author: "Ada", Time: journal.TimeOf(c.clock()) + journal.Time(c.n)}
	copy(e.ID[:], c.name)
	e.ID[14], e.ID[15] = byte(c.n>>8), byte(c.n)
	write(t, c.log, record.Encode(e, event))
	return record.EntryID(e.ID.String())
}

// build enters a house with a unit.
func (c *camera) build(t testing.TB, house record.PropertyID) {
	t.Helper()
	c.note(t, house, record.PropertyAdded{Property: house, Name: "House " + string(house)})
	c.note(t, house, record.SystemAdded{System: record.SystemID(house) + "-S", Kind: "split-air-conditioner"})
	c.note(t, house, record.UnitAdded{Unit: record.UnitID(house) + "-U", System: record.SystemID(house) + "-S", Kind: "outdoor-unit"})
}

// take takes a photo of the unit of a house.
func (c *camera) take(t testing.TB, house record.PropertyID, content []byte) (blob.Hash, record.EntryID) {
	t.Helper()
	h := blob.HashOf(content)
	if err := c.log.Blobs().Put(t.Context(), h, content); err != nil {
		t.Fatal(err)
	}
	return h, c.note(t, house, record.PhotoTaken{Unit: record.UnitID(house) + "-U", Hash: h, Type: "image/jpeg", Bytes: len(content)})
}

// both exchanges entries, then photos.
func (c *camera) both(t testing.TB, to interface {
	Transport
	PhotoTransport
}) DonePhotos {
	t.Helper()
	run(t, c.Client, to)
	done, err := c.RunPhotos(t.Context(), to)
	if err != nil {
		t.Fatal(err)
	}
	return done
}

// photoOffice is an office that gives everything.
func photoOffice(now func() time.Time) (*Server, *memlog.Log) {
	log := memlog.New(ledger.Summary())
	return &Server{Log: log, Blobs: log.Blobs(), Now: now, Policy: carryAll(log)}, log
}

// hasAll wants a device to hold every photo that its journal names, and returns
// how many those are.
func hasAll(t testing.TB, who string, log *memlog.Log) int {
	t.Helper()
	list, err := PhotosOf(context.Background(), log, "")
	if err != nil {
		t.Fatal(err)
	}
	missing, err := log.Blobs().Missing(context.Background(), list)
	if err != nil || len(missing) > 0 {
		t.Errorf("%s lacks %d of %d photos, %v", who, len(missing), len(list), err)
	}
	return len(list)
}

func photos(t testing.TB, c *camera) PhotoStatus {
	t.Helper()
	s, err := c.Photos(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestPhotosTravel: photos follow their entries to the office and from there to
// the next phone, newest first, and then nothing is asked any more.
func TestPhotosTravel(t *testing.T) {
	now := noon
	clock := func() time.Time { now = now.Add(time.Minute); return now }
	office, log := photoOffice(clock)
	one, two := newCamera("one", clock), newCamera("two", clock)
	one.build(t, "A")
	var taken []blob.Hash
	for i := range 3 {
		h, _ := one.take(t, "A", blobtest.Noise(uint64(i), 1000))
		taken = append([]blob.Hash{h}, taken...)
	}
	if s := photos(t, one); !slices.Equal(s.Waiting, taken) || s.Absent != 0 {
		t.Errorf("before: %+v, want the newest first", s)
	}
	watch := &watched{wire: wire{office}}
	if done := one.both(t, watch); done.Sent != 3 {
		t.Errorf("sent %+v", done)
	}
	var order []blob.Hash
	for _, path := range watch.paths {
		if h, err := blob.ParseHash(path[min(len(path), len(PhotoPath)+1):]); err == nil {
			order = append(order, h)
		}
	}
	if !slices.Equal(order, taken) {
		t.Errorf("sent in the order %v, want %v", order, taken)
	}
	hasAll(t, "the office", log)
	run(t, two.Client, watch)
	if s := photos(t, two); s.Absent != 3 || len(s.Waiting) != 0 {
		t.Errorf("after the entries the second phone stands at %+v", s)
	}
	if done := two.both(t, watch); done.Received != 3 || done.Sent != 0 {
		t.Errorf("received %+v", done)
	}
	hasAll(t, "the second phone", two.log)
	for _, c := range []*camera{one, two} {
		watch.paths = nil
		if done := c.both(t, watch); done != (DonePhotos{}) || len(watch.paths) != 0 {
			t.Errorf("with nothing left: %+v, asked %v", done, watch.paths)
		}
	}
}

// watched notes which addresses of photos are asked.
type watched struct {
	wire
	paths []string
}

func (w *watched) Do(ctx context.Context, method, path string, body []byte) (int, []byte, error) {
	w.paths = append(w.paths, path)
	return w.wire.Do(ctx, method, path, body)
}

// TestPhotosTakenBack: a photo that was taken back before it was sent never
// leaves the phone.
func TestPhotosTakenBack(t *testing.T) {
	office, log := photoOffice(atNoon)
	one := newCamera("one", atNoon)
	one.build(t, "A")
	h, id := one.take(t, "A", blobtest.Noise(1, 1000))
	one.note(t, "A", record.EntryWithdrawn{Entry: id})
	one.both(t, wire{office})
	if missing, err := log.Blobs().Missing(t.Context(), []blob.Hash{h}); err != nil || len(missing) != 1 {
		t.Errorf("the office has the photo that was taken back: %v, %v", missing, err)
	}
	if code, _, _ := (wire{office}).Do(t.Context(), "POST", PhotoPath+"/"+string(h), blobtest.Noise(1, 1000)); code != http.StatusNotFound {
		t.Errorf("sent all the same it answers %d, want 404", code)
	}
}

// TestPhotosRefused: what is no photo of ours is not taken and not given.
func TestPhotosRefused(t *testing.T) {
	office, log := photoOffice(atNoon)
	one := newCamera("one", atNoon)
	one.build(t, "A")
	content := blobtest.Noise(1, 1000)
	h, _ := one.take(t, "A", content)
	run(t, one.Client, wire{office})
	at := PhotoPath + "/" + string(h)
	many := fmt.Sprintf(`{"version":1,"offer":[%s"x"]}`, bytes.Repeat([]byte(`"x",`), maxHashes))
	for _, c := range []struct {
		name, method, path string
		body               []byte
		want               int
	}{
		{"other bytes", "POST", at, content[1:], 400},
		{"no bytes", "POST", at, nil, 400},
		{"too many bytes", "POST", at, make([]byte, blob.MaxSize+1), 413},
		{"no hash", "POST", PhotoPath + "/..%2f", content, 400},
		{"not named", "POST", PhotoPath + "/" + string(blob.HashOf(nil)), content, 404},
		{"not there yet", "GET", at, nil, 404},
		{"no question", "POST", PhotoPath, []byte("{"), 400},
		{"no hashes", "POST", PhotoPath, []byte(`{"version":1,"offer":["x"]}`), 400},
		{"too many", "POST", PhotoPath, []byte(many), 413},
	} {
		if code, _, _ := (wire{office}).Do(t.Context(), c.method, c.path, c.body); code != c.want {
			t.Errorf("%s answers %d, want %d", c.name, code, c.want)
		}
	}
	if missing, err := log.Blobs().Missing(t.Context(), []blob.Hash{h}); err != nil || len(missing) != 1 {
		t.Errorf("the office kept something: %v, %v", missing, err)
	}
	office.Authorise = func(*http.Request) (Grant, error) { return Grant{}, errors.New("who is that") }
	for _, method := range []string{"GET", "POST"} {
		for _, path := range []string{at, PhotoPath} {
			if code, b, _ := (wire{office}).Do(t.Context(), method, path, content); code != 401 {
				t.Errorf("a stranger's %s %s answers %d: %s", method, path, code, b)
			}
		}
	}
}

// TestRevokedPhonePhotos: a revoked phone hands in its photos and gets none.
func TestRevokedPhonePhotos(t *testing.T) {
	office, log := photoOffice(atNoon)
	one, two := newCamera("one", atNoon), newCamera("two", atNoon)
	one.build(t, "A")
	one.take(t, "A", blobtest.Noise(1, 1000))
	one.both(t, wire{office})
	two.both(t, wire{office})
	h, _ := one.take(t, "A", blobtest.Noise(2, 1000))
	one.both(t, wire{office})
	run(t, two.Client, wire{office})
	two.take(t, "A", blobtest.Noise(3, 1000))
	office.Authorise = func(*http.Request) (Grant, error) { return Grant{Device: "two", HandInOnly: true}, nil }
	if done := two.both(t, wire{office}); done.Sent != 1 || done.Received != 0 {
		t.Errorf("a revoked phone: %+v, want one sent and none received", done)
	}
	hasAll(t, "the office", log)
	if code, _, _ := (wire{office}).Do(t.Context(), "GET", PhotoPath+"/"+string(h), nil); code != 401 {
		t.Errorf("a revoked phone that fetches gets %d, want 401", code)
	}
}

// TestPhotosOfCarried: a phone that does not carry a property gets no photos of
// it, though it still has its entries.
func TestPhotosOfCarried(t *testing.T) {
	office, _ := photoOffice(atNoon)
	one, two := newCamera("one", atNoon), newCamera("two", atNoon)
	for i, house := range []record.PropertyID{"A", "B"} {
		one.build(t, house)
		one.take(t, house, blobtest.Noise(uint64(i), 1000))
	}
	one.both(t, wire{office})
	run(t, two.Client, wire{office})
	office.Policy = func(context.Context, string, []journal.Stream) (map[journal.Stream]bool, error) {
		return map[journal.Stream]bool{record.PropertyID("B").Stream(): true}, nil
	}
	if done := two.both(t, wire{office}); done.Received != 1 {
		t.Errorf("%+v, want the photo of the house that is carried", done)
	}
	if s := photos(t, two); s.Absent != 1 {
		t.Errorf("%+v, want one that is not here", s)
	}
}

// TestPhotoRoom: a device with little room leaves photos at the office, and says so.
func TestPhotoRoom(t *testing.T) {
	office, _ := photoOffice(atNoon)
	one, two := newCamera("one", atNoon), newCamera("two", atNoon)
	one.build(t, "A")
	one.take(t, "A", blobtest.Noise(1, 1000))
	one.both(t, wire{office})
	left := int64(headroom + 1000)
	two.CarryPhotos(two.log.Blobs(), func(context.Context) (int64, bool) { return left, true })
	if done := two.both(t, wire{office}); done.Received != 0 || done.NoRoom != 1 {
		t.Errorf("%+v, want it left at the office", done)
	}
	if s := photos(t, two); s.Problem == "" {
		t.Errorf("%+v, want it to say why", s)
	}
	left++
	if done := two.both(t, wire{office}); done.Received != 1 {
		t.Errorf("with room: %+v", done)
	}
	if s := photos(t, two); s.Problem != "" || s.Absent != 0 {
		t.Errorf("with room: %+v", s)
	}
}

// TestManyPhotos: more photos than one question holds.
func TestManyPhotos(t *testing.T) {
	office, log := photoOffice(atNoon)
	one, two := newCamera("one", atNoon), newCamera("two", atNoon)
	one.build(t, "A")
	for i := range maxHashes + 20 {
		one.take(t, "A", fmt.Appendf(nil, "photo %d", i))
	}
	one.both(t, wire{office})
	two.both(t, wire{office})
	if n := hasAll(t, "the office", log); n != maxHashes+20 {
		t.Errorf("the office names %d", n)
	}
	hasAll(t, "the second phone", two.log)
}

// TestOneRunAtATime: a run that is asked for while another is under way returns
// at once.
func TestOneRunAtATime(t *testing.T) {
	office, log := photoOffice(atNoon)
	one := newCamera("one", atNoon)
	one.build(t, "A")
	one.take(t, "A", blobtest.Noise(1, 1000))
	run(t, one.Client, wire{office})
	within := onWay{wire{office}, func() {
		if done, err := one.RunPhotos(t.Context(), wire{office}); done != (DonePhotos{}) || err != nil {
			t.Errorf("a second run: %+v, %v", done, err)
		}
	}}
	if done, err := one.RunPhotos(t.Context(), within); done.Sent != 1 || err != nil {
		t.Errorf("the first run: %+v, %v", done, err)
	}
	hasAll(t, "the office", log)
}

// onWay does something while a request is on its way.
type onWay struct {
	wire
	do func()
}

func (w onWay) Do(ctx context.Context, method, path string, body []byte) (int, []byte, error) {
	w.do()
	return w.wire.Do(ctx, method, path, body)
}

// rough loses, doubles and delays requests and answers, and tears answers.
type rough struct {
	to   *wire
	r    *rand.Rand
	late *[]func() // requests that wander about and arrive some time
}

var errLost = errors.New("lost")

func (n rough) Post(ctx context.Context, body []byte) (int, []byte, error) {
	return n.Do(ctx, "POST", Path, body)
}

func (n rough) Do(ctx context.Context, method, path string, body []byte) (int, []byte, error) {
	send := func() (int, []byte, error) { return n.to.Do(context.Background(), method, path, body) }
	switch n.r.IntN(8) {
	case 0:
		return 0, nil, errLost
	case 1: // arrives, and its answer does not
		send()
		return 0, nil, errLost
	case 2: // arrives later
		*n.late = append(*n.late, func() { send() })
		return 0, nil, errLost
	case 3: // arrives twice
		send()
	case 4: // its answer is torn
		code, answer, err := send()
		return code, answer[:n.r.IntN(len(answer)+1)], err
	}
	return send()
}

// TestPhotoHistories: whatever gets lost, comes twice, late or torn, and though
// the office is restored from older copies, in the end everybody who names a
// photo has it.
func TestPhotoHistories(t *testing.T) {
	for seed := range uint64(40) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) { photoHistory(t, seed) })
	}
}

func photoHistory(t *testing.T, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 11))
	now := noon
	clock := func() time.Time { now = now.Add(time.Second); return now }
	office, log := photoOffice(clock)
	to := &wire{office}
	var late []func()
	net := rough{to, r, &late}
	cameras := []*camera{newCamera("one", clock), newCamera("two", clock), newCamera("three", clock)}
	cameras[0].build(t, "A")
	cameras[1].build(t, "B")
	copied := copyOf(t, log)
	for step := range 120 {
		c := cameras[r.IntN(len(cameras))]
		switch k := r.IntN(20); {
		case k < 5:
			house := []record.PropertyID{"A", "B"}[r.IntN(2)]
			_, id := c.take(t, house, blobtest.Noise(uint64(r.IntN(60)), 500)) // some are the same picture
			if r.IntN(6) == 0 {
				c.note(t, house, record.EntryWithdrawn{Entry: id})
			}
		case k < 10:
			c.Run(t.Context(), net)
		case k < 15:
			c.RunPhotos(t.Context(), net)
		case k < 17 && len(late) > 0:
			i := r.IntN(len(late))
			late[i]()
			late = slices.Delete(late, i, i+1)
		case k == 17 && r.IntN(3) == 0:
			copied = copyOf(t, log)
		case k == 18 && r.IntN(4) == 0 && step > 20:
			log = copied
			copied = copyOf(t, log)
			*office = Server{Log: log, Blobs: log.Blobs(), Now: clock, Policy: carryAll(log)}
		}
	}
	for _, arrive := range late {
		arrive()
	}
	now = now.Add(offeredAnew)
	for range 3 {
		for _, c := range cameras {
			c.both(t, to)
		}
	}
	n := hasAll(t, "the office", log)
	for _, c := range cameras {
		if m := hasAll(t, c.name, c.log); m != n {
			t.Errorf("%s names %d photos, the office %d", c.name, m, n)
		}
		if s := photos(t, c); len(s.Waiting) != 0 || s.Absent != 0 || s.Problem != "" {
			t.Errorf("%s ends at %+v", c.name, s)
		}
	}
	if n < 10 {
		t.Errorf("only %d photos: nothing is shown by that", n)
	}
}

// copyOf is a backup of an office.
func copyOf(t testing.TB, log *memlog.Log) *memlog.Log {
	t.Helper()
	to := memlog.New(ledger.Summary())
	for at := journal.Start; ; {
		page, next, err := log.Since(t.Context(), at, 1000)
		if err != nil {
			t.Fatal(err)
		}
		if len(page) == 0 {
			break
		}
		write(t, to, page...)
		at = next
	}
	list, err := PhotosOf(t.Context(), log, "")
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range list {
		if b, err := log.Blobs().Get(t.Context(), h); err == nil {
			if err := to.Blobs().Put(t.Context(), h, b); err != nil {
				t.Fatal(err)
			}
		}
	}
	return to
}

// TestBundleWithPhotos: a file carries the newest photos as far as they fit and
// says how many did not; a changed one is refused whole.
func TestBundleWithPhotos(t *testing.T) {
	now := noon
	one, two := newCamera("one", func() time.Time { now = now.Add(time.Minute); return now }), newCamera("two", atNoon)
	one.build(t, "A")
	var newest []blob.Hash
	for i := range 4 {
		h, _ := one.take(t, "A", blobtest.Noise(uint64(i), MaxBundlePhotos/3-100))
		newest = append([]blob.Hash{h}, newest...)
	}
	list, err := PhotosOf(t.Context(), one.log, "A")
	if err != nil || !slices.Equal(list, newest) {
		t.Fatalf("PhotosOf = %v, %v", list, err)
	}
	stranger := blob.HashOf([]byte("not here"))
	inFile, left, err := GatherPhotos(t.Context(), one.log.Blobs(), append([]blob.Hash{stranger}, list...))
	if err != nil || len(inFile) != 3 || left != 1 || inFile[0].Hash != newest[0] {
		t.Fatalf("GatherPhotos = %d photos, %d left, %v", len(inFile), left, err)
	}
	entries, err := Gather(t.Context(), one.log, record.PropertyID("A").Stream())
	if err != nil {
		t.Fatal(err)
	}
	var file bytes.Buffer
	odd := Photo{Hash: blob.HashOf([]byte("of nothing")), Content: []byte("of nothing")}
	if err := WriteBundle(&file, Bundle{Device: "one", Entries: entries, Photos: append(inFile, odd)}); err != nil {
		t.Fatal(err)
	}
	b, err := ReadBundle(bytes.NewReader(file.Bytes()))
	if err != nil || len(b.Entries) != len(entries) || len(b.Photos) != 4 {
		t.Fatalf("ReadBundle = %d entries, %d photos, %v", len(b.Entries), len(b.Photos), err)
	}
	for range 2 {
		if _, err := TakeIn(t.Context(), two.log, b.Entries, noon); err != nil {
			t.Fatal(err)
		}
		if n, err := TakeInPhotos(t.Context(), two.log, two.log.Blobs(), b.Photos); n != 3 || err != nil {
			t.Errorf("TakeInPhotos = %d, %v, want the 3 that are named", n, err)
		}
	}
	if s := photos(t, two); s.Absent != 1 {
		t.Errorf("afterwards %+v", s)
	}
	t.Logf("%d bytes of photos make a file of %d", len(inFile)*len(inFile[0].Content), file.Len())
	inFile[1].Content = inFile[1].Content[1:]
	file.Reset()
	if err := WriteBundle(&file, Bundle{Entries: entries, Photos: inFile}); err != nil {
		t.Fatal(err)
	}
	if b, err := ReadBundle(&file); !errors.Is(err, ErrBundle) || b.Photos != nil {
		t.Errorf("with other bytes ReadBundle = %v, want ErrBundle", err)
	}
}
