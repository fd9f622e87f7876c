package web

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"rung/internal/blob"
	"rung/internal/exchange"
	"rung/internal/journal/memlog"
)

// place is what no photo may carry out of the house.
const place = "47.1234N 8.5678E"

// cameraFile is a photo as a phone makes it that is held upright: lying in the
// file, with Exif that says so and where it was taken.
func cameraFile(t testing.TB, width, height int) string {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			m.Set(x, y, color.RGBA{uint8(x), uint8(y), uint8(x * y >> 7), 255})
		}
	}
	var plain bytes.Buffer
	if err := jpeg.Encode(&plain, m, &jpeg.Options{Quality: 85}); err != nil {
		t.Fatal(err)
	}
	exif := []byte("Exif\x00\x00II*\x00\x08\x00\x00\x00\x02\x00")
	exif = append(exif, "\x12\x01\x03\x00\x01\x00\x00\x00\x06\x00\x00\x00"...) // which way up: 6
	exif = append(exif, "\x0f\x01\x02\x00\x10\x00\x00\x00\x26\x00\x00\x00\x00\x00\x00\x00"...)
	exif = append(exif, place...)
	file := append([]byte{0xff, 0xd8, 0xff, 0xe1}, binary.BigEndian.AppendUint16(nil, uint16(len(exif)+2))...)
	file = append(append(file, exif...), plain.Bytes()[2:]...)
	path := filepath.Join(t.TempDir(), "IMG_1234.jpg")
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// takes puts a file into the form of a photo, as if the camera had made it.
func (p *phone) takes(file string) *phone {
	p.t.Helper()
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#f-photo"), []string{file}))
	return p
}

// shows waits until the first photo of the page is drawn, and wants its size in
// points as it is shown.
func (p *phone) shows(width, height int) *phone {
	p.t.Helper()
	p.do(chromedp.Evaluate[chromedp.Void](`(i => { i.loading = "eager"; i.scrollIntoView(); })(document.querySelector(".photos img"))`))
	p.waitFor(`(i => i.complete && i.naturalWidth > 0)(document.querySelector(".photos img"))`)
	got := ask[string](p, `(i => i.naturalWidth + " by " + i.naturalHeight)(document.querySelector(".photos img"))`)
	if want := fmt.Sprintf("%d by %d", width, height); got != want {
		p.t.Errorf("%s: the photo is shown %s, want %s", p.where(), got, want)
	}
	return p
}

// signalAgain brings the server back where it was.
func (b *basement) signalAgain() {
	b.test.Helper()
	l, err := net.Listen("tcp", strings.TrimPrefix(b.url, "http://"))
	if err != nil {
		b.test.Fatal(err)
	}
	b.server = &http.Server{Handler: b.server.Handler}
	go b.server.Serve(l)
}

// photosOf waits until the office names so many photos and has them all.
func photosOf(t testing.TB, office *memlog.Log, n int) []blob.Hash {
	t.Helper()
	for range 300 {
		list, err := exchange.PhotosOf(t.Context(), office, "")
		if err != nil {
			t.Fatal(err)
		}
		missing, err := office.Blobs().Missing(t.Context(), list)
		if err != nil {
			t.Fatal(err)
		}
		if len(list) == n && len(missing) == 0 {
			return list
		}
		time.Sleep(100 * time.Millisecond)
	}
	list, _ := exchange.PhotosOf(t.Context(), office, "")
	missing, _ := office.Blobs().Missing(t.Context(), list)
	t.Fatalf("the office names %d photos and lacks %d, want %d and none", len(list), len(missing), n)
	return nil
}

// TestPhotoWithoutSignal: a photo is taken without signal, made smaller by the
// page and turned upright, is still there after the worker was stopped and after
// the browser was started anew, and goes to the office as soon as there is signal.
func TestPhotoWithoutSignal(t *testing.T) {
	b := newBasement(t, "").setUp()
	b.noSignal()
	b.enterHouse()
	unit, _, _ := strings.Cut(b.where(), "?")
	b.openVisit()
	visit := "/visits/" + string(b.visitID())
	b.open(visit + "/photos/new").takes(cameraFile(t, 3000, 2000))
	b.waitFor(`document.querySelector("#shrunk canvas") !== null`)
	sent := ask[int](b.phone, `document.querySelector("#f-photo").files[0].size`)
	b.fill("shows", "wiring").fill("caption", "contactor").fill("customer", "yes").press("Keep this photo").says("[role=status]", "Photo kept").says("#photos", "Wiring · contactor").shows(1067, 1600)
	t.Logf("the page sends %d bytes of a photo of 3000 by 2000", sent)

	b.stopWorker()
	b.open(visit).says("#photos", "Wiring").shows(1067, 1600)
	b.open(visit+"/report").says(".sheet", "Wiring · contactor").shows(1067, 1600)
	b.open(unit + "/photos/new").takes(cameraFile(t, 600, 400))
	b.waitFor(`document.querySelector("#shrunk canvas") !== null`)
	b.press("Keep this photo").says("#photos", "Nameplate").shows(400, 600)
	b.open("/hand-over").says("#photos", "2 photos not handed over").says("main", "and 2 photos as a file")

	b.leave()
	b.enter()
	b.open(visit).shows(1067, 1600)
	b.signalAgain()
	b.do(chromedp.Evaluate[chromedp.Void](`localStorage.removeItem("exchanged")`)) // as if a minute had passed
	b.open(visit)
	for _, h := range photosOf(t, b.office, 2) {
		content, err := b.office.Blobs().Get(t.Context(), h)
		if err != nil || bytes.Contains(content, []byte(place)) {
			t.Errorf("photo %s at the office: %v, or it carries the place", h, err)
		}
	}
	for range 100 { // the page of the phone says so when the answer is in
		if b.open("/hand-over"); b.text("#photos") == "" {
			break
		}
		time.Sleep(100 * time.Millisecond)
	}
	if got := b.text("#photos"); got != "" {
		t.Errorf("afterwards the phone says %q", got)
	}
	atOffice := &browser{t: t, handler: b.handler.Load().(http.Handler), at: &url.URL{Path: "/"}}
	hashIn(t, atOffice.open(visit).says("#photos", "Wiring · contactor"), "#photos img")
}

// TestPhotoUpright: where no script runs the file goes as the camera made it, and
// stands upright without the place it was taken at.
func TestPhotoUpright(t *testing.T) {
	s := newServer(t, silent)
	server := httptest.NewServer(s.Handler())
	defer server.Close()
	b := browserOn(t, s)
	visit := b.visit().at.Path
	tab := browsers(t)
	plain := newPhone(t, tab, server.URL).withoutScripts()
	plain.open(visit+"/photos/new").takes(cameraFile(t, 300, 200)).fill("shows", "damage").press("Keep this photo").says("[role=status]", "Photo kept")
	newPhone(t, tab, server.URL).open(visit).shows(200, 300)
	w := get(s.Handler(), "/photos/"+string(hashIn(t, b.open(visit), "#photos img")))
	if w.Code != 200 || bytes.Contains(w.Body.Bytes(), []byte(place)) || !bytes.Contains(w.Body.Bytes(), []byte("Exif")) {
		t.Errorf("the photo answers %d, with the place or without which way up it is", w.Code)
	}
}
