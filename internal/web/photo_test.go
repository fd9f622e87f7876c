package web

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"rung/internal/blob"
)

// shot returns a picture of its own for every shade.
func shot(t testing.TB, shade uint8) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 64, 48))
	for y := range 48 {
		for x := range 64 {
			m.Set(x, y, color.RGBA{shade, uint8(4 * x), uint8(5 * y), 255})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// snap fills in the form of a photo and sends it with a picture, as a browser
// without scripts does. The field is that of the file.
func (b *browser) snap(field string, picture []byte, fill url.Values) *browser {
	b.t.Helper()
	form := one(b.t, b.doc, "form[enctype]")
	to, err := b.at.Parse(attr(form, "action"))
	if err != nil {
		b.t.Fatal(err)
	}
	values := successful(form)
	for name, v := range fill {
		values[name] = v
	}
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	for name, list := range values {
		if name == "photo" || name == "chosen" {
			continue
		}
		for _, v := range list {
			if err := m.WriteField(name, v); err != nil {
				b.t.Fatal(err)
			}
		}
	}
	for _, name := range []string{"photo", "chosen"} { // the empty one is sent too, without a name
		file, content := "", []byte(nil)
		if name == field {
			file, content = "IMG_1234.JPG", picture
		}
		part, err := m.CreatePart(map[string][]string{"Content-Disposition": {`form-data; name="` + name + `"; filename="` + file + `"`}, "Content-Type": {"application/octet-stream"}})
		if err != nil {
			b.t.Fatal(err)
		}
		part.Write(content)
	}
	m.Close()
	sent := body.Bytes()
	request := func() *http.Request {
		r := httptest.NewRequest(http.MethodPost, to.RequestURI(), bytes.NewReader(sent))
		r.Header.Set("Content-Type", m.FormDataContentType())
		r.Header.Set("Origin", "http://"+r.Host)
		return r
	}
	if b.twice {
		b.handler.ServeHTTP(httptest.NewRecorder(), request())
		b.twice = false // send would repeat it as a form without a file
		defer func() { b.twice = true }()
	}
	return b.send(request(), to)
}

// hashIn returns the hash in the address of the first picture of the page.
func hashIn(t testing.TB, b *browser, selector string) blob.Hash {
	t.Helper()
	for _, n := range all(b.doc, selector) {
		if m := regexp.MustCompile(`/photos/([0-9a-f]{64})$`).FindStringSubmatch(attr(n, "src")); m != nil {
			return blob.Hash(m[1])
		}
	}
	t.Fatalf("%s has no picture in %s", b.at, selector)
	return ""
}

// TestPhotoPages: a photo of a visit, of a check and of a unit is kept, shown
// where it belongs, marked for the customer and taken back. Every form comes
// twice.
func TestPhotoPages(t *testing.T) {
	b := quickBrowser(t).visit()
	b.twice = true
	visit := b.at.Path
	b.follow("Add a photo").wants(200).says("main", "up to 8 MB")
	b.snap("photo", shot(t, 1), url.Values{"shows": {"wiring"}, "caption": {"before I touched it"}}).wants(200)
	b.says("[role=status]", "Photo kept").says("#photos", "Wiring · before I touched it")
	if n := len(all(b.doc, "#photos img")); n != 1 {
		t.Fatalf("%d photos after a form that was sent twice, want 1", n)
	}
	wiring := hashIn(t, b, "#photos img")

	b.open(visit+"/checks/cap-bench").follow("Add a photo").wants(200).says("h1", "Capacitance")
	b.snap("chosen", shot(t, 2), url.Values{"shows": {"damage"}, "point": {"herm"}, "customer": {"yes"}}).wants(200)
	if !strings.HasSuffix(b.at.Path, "/checks/cap-bench") {
		t.Errorf("a photo of a check leads to %s", b.at)
	}
	b.says(".photos", "Damage").says(".photos", "In the report")
	damage := hashIn(t, b, ".photos img")

	b.open(visit).follow("2 upstairs").follow("Outdoor unit").wants(200)
	unit := b.at.Path
	b.follow("Add a photo").wants(200)
	if !has(one(t, b.doc, "input[value=nameplate]"), "checked") {
		t.Error("a photo of a unit is not of its nameplate to begin with")
	}
	b.snap("photo", shot(t, 3), nil).wants(200).says("#photos", "Nameplate")

	r := b.raw("/photos/" + string(wiring))
	if h := r.Header; r.StatusCode != 200 || h.Get("Content-Type") != "image/png" || h.Get("X-Content-Type-Options") != "nosniff" ||
		!strings.Contains(h.Get("Cache-Control"), "immutable") || !strings.Contains(h.Get("Cache-Control"), "private") || !strings.Contains(h.Get("Content-Security-Policy"), "img-src 'self'") {
		t.Errorf("the picture answers %d, %v", r.StatusCode, h)
	}
	if got := []byte(body(t, r)); blob.HashOf(got) != wiring {
		t.Error("the picture is another one")
	}
	for _, path := range []string{"/photos/" + string(blob.HashOf(nil)), "/photos/x", "/photos/..%2Fx", "/properties/x/photos/y"} {
		if r := b.raw(path); r.StatusCode != 404 {
			t.Errorf("%s answers %d, want 404", path, r.StatusCode)
		}
	}

	// The report shows what is marked for the customer, and nothing else.
	report := visit + "/report"
	b.open(report).says(".sheet .photos", "Damage")
	if n := len(all(b.doc, ".sheet img")); n != 1 {
		t.Errorf("the report shows %d photos, want 1", n)
	}
	b.open(visit).follow("Wiring").wants(200).says(".facts", "64 by 48 points").submit("Put it into the report", nil).wants(200).says("main", "gets this photo with the report")
	photo := b.at.Path
	b.open(report).says(".sheet .photos", "Wiring")
	if n := len(all(b.doc, ".sheet img")); n != 2 {
		t.Errorf("the report shows %d photos, want 2", n)
	}
	b.open(photo).submit("Take this photo back", nil).wants(200).says("[role=status]", "taken back")
	b.open(photo).wants(404)
	b.open(report)
	if got := hashIn(t, b, ".sheet img"); got != damage {
		t.Error("the photo that was taken back is still in the report")
	}

	// The house shows the photos of all its visits and units.
	b.open(unit).follow("2 upstairs").follow("12 Sample Lane").says("#photos", "Nameplate").follow("All 2 photos").wants(200).says("main", "Damage").says("main", "Nameplate")
}

// TestPhotoPageRefuses: what is wrong is said where it can be mended, and what
// was typed is still there.
func TestPhotoPageRefuses(t *testing.T) {
	b := quickBrowser(t).visit()
	visit := b.at.Path
	form := visit + "/photos/new"
	for name, c := range map[string]struct {
		picture []byte
		says    string
	}{
		"nothing":      {nil, "Take a photo first"},
		"a page":       {[]byte("<!DOCTYPE html><script>alert(1)</script>"), "no JPEG, PNG or WebP"},
		"too large":    {make([]byte, blob.MaxSize+1), "larger than 8 MB"},
		"cut short":    {shot(t, 1)[:100], "cut short"},
		"hidden words": {[]byte("GIF89a<script>"), "no JPEG, PNG or WebP"},
	} {
		b.open(form).snap("photo", c.picture, url.Values{"caption": {"typed before"}})
		if b.status != 422 || !strings.Contains(b.text("[role=alert]"), c.says) || attr(one(t, b.doc, "#f-caption"), "value") != "typed before" {
			t.Errorf("%s answers %d: %s", name, b.status, b.text("main"))
		}
	}
	b.open(form).snap("photo", make([]byte, maxPhotoForm+1), nil).wants(422).says("main", "larger than 8 MB")
	b.open(form).snap("photo", shot(t, 1), url.Values{"caption": {strings.Repeat("x", 5000)}}).wants(413)
	if r := post(b.handler, visit+"/photos", url.Values{"caption": {"no file at all"}}); r.Code != 400 {
		t.Errorf("a form of another kind answers %d, want 400", r.Code)
	}
	b.open(visit)
	if n := len(all(b.doc, "#photos img")); n != 0 {
		t.Errorf("%d photos were kept", n)
	}
}

// TestPhotosForTheCustomer: a link shows the photos of its report and no other
// picture, until it is withdrawn; the paper holds them too.
func TestPhotosForTheCustomer(t *testing.T) {
	b := quickBrowser(t).visit()
	visit := b.at.Path
	b.follow("Add a photo").snap("photo", shot(t, 1), url.Values{"shows": {"after"}, "customer": {"yes"}}).wants(200)
	marked := hashIn(t, b, "#photos img")
	b.follow("Add a photo").snap("photo", shot(t, 2), url.Values{"shows": {"panel"}}).wants(200)
	own := hashIn(t, b, "#photos img")
	b.open(visit+"/report").submit("Make a link", nil)
	link := attr(one(t, b.doc, "a.address"), "href")
	link = link[strings.Index(link, "/report/"):]
	stranger := &browser{t: t, handler: b.handler, at: &url.URL{Path: "/"}}
	stranger.open(link).wants(200)
	src := attr(one(t, stranger.doc, ".sheet img"), "src")
	if src != link+"/photos/"+string(marked) {
		t.Errorf("the report of a stranger shows %s", src)
	}
	w := get(b.handler, src)
	if w.Code != 200 || blob.HashOf(w.Body.Bytes()) != marked || w.Header().Get("X-Robots-Tag") == "" || strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
		t.Errorf("the photo answers %d, %v", w.Code, w.Header())
	}
	if w := get(b.handler, link+"/photos/"+string(own)); w.Code != 404 {
		t.Errorf("a photo that is not for the customer answers %d, want 404", w.Code)
	}
	if w := get(b.handler, link+"/report.pdf"); w.Code != 200 || !bytes.Contains(w.Body.Bytes(), []byte("/Subtype /Image")) {
		t.Errorf("the paper answers %d, or without the photo", w.Code)
	}
	b.open(visit+"/report").submit("Withdraw", nil)
	if w := get(b.handler, src); w.Code != 404 {
		t.Errorf("after withdrawing the link its photo answers %d, want 404", w.Code)
	}
}

// TestPhotosExchanged: the entry of a photo comes first and shows a plain place
// for it; the picture follows, to the office and to the next phone.
func TestPhotosExchanged(t *testing.T) {
	f := newFirm(t)
	visit := f.ada.visit().at.Path
	f.ada.follow("Add a photo").snap("photo", shot(t, 1), url.Values{"shows": {"damage"}, "customer": {"yes"}}).wants(200)
	h := hashIn(t, f.ada, "#photos img")
	run := func(b *browser) {
		t.Helper()
		if w := post(b.handler, "/hand-over/photos", nil); w.Code != 303 {
			t.Errorf("exchanging photos answers %d", w.Code)
		}
	}
	f.exchange(f.ada).says("#photos", "1 photo not handed over")
	f.office.open(visit).says("#photos .absent", "Not here yet").says("#photos .absent", string(h[:8]))
	if len(all(f.office.doc, "#photos img")) > 0 {
		t.Error("the office shows a picture that it does not have")
	}
	f.office.open(visit+"/report").says(".sheet .absent", "Not here yet")
	if w := get(f.office.handler, visit+"/report.pdf"); w.Code != 200 || bytes.Contains(w.Body.Bytes(), []byte("/Subtype /Image")) {
		t.Errorf("the paper without the picture answers %d", w.Code)
	}
	f.exchange(f.ben).says("#photos", "1 photo not here yet")
	f.ben.open(visit).says("#photos .absent", "Not here yet")

	f.signal.cut = true
	run(f.ada)
	f.ada.open("/hand-over").says("main", "did not answer")
	f.signal.cut = false
	run(f.ada)
	f.ada.open("/hand-over")
	if got := f.ada.text("#photos") + f.ada.text(".warning"); got != "" {
		t.Errorf("with everything handed over the page says %q", got)
	}
	f.office.open(visit)
	hashIn(t, f.office, "#photos img")
	run(f.ben)
	f.ben.open(visit)
	if got := hashIn(t, f.ben, "#photos img"); got != h {
		t.Errorf("the second phone shows %s", got)
	}
}

// TestPhotosInAFile: what cannot wait for signal goes with the file.
func TestPhotosInAFile(t *testing.T) {
	f := newFirm(t)
	visit := f.ada.visit().at.Path
	f.ada.follow("Add a photo").snap("photo", shot(t, 1), url.Values{"shows": {"damage"}}).wants(200)
	f.exchange(f.ada)
	f.ada.says("main", "and 1 photo as a file").says("main", "up to 20 MB")
	file := []byte(body(t, f.ada.raw("/hand-over/entries")))
	f.exchange(f.ben).open(visit).says("#photos .absent", "Not here yet")
	f.ben.upload(file).wants(200).says("#taken", "1 photo is here")
	f.ben.open(visit)
	hashIn(t, f.ben, "#photos img")

	f.ben.follow("2 upstairs").follow("12 Sample Lane").says("main", "up to 20 MB")
	house := []byte(body(t, f.ben.raw(f.ben.at.Path+"/entries")))
	f.office.upload(house).wants(200).says("#taken", "1 photo is here").open(visit)
	hashIn(t, f.office, "#photos img")
}
