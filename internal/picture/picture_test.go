package picture

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// drawn is a picture of w by h points, of which none is like the next.
func drawn(w, h int) *image.NRGBA {
	m := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.Set(x, y, color.NRGBA{uint8(x * 7), uint8(y * 11), uint8(x * y), 255})
		}
	}
	return m
}

func encoded(t testing.TB, kind string, w, h int) []byte {
	t.Helper()
	var b bytes.Buffer
	var err error
	if kind == JPEG {
		err = jpeg.Encode(&b, drawn(w, h), &jpeg.Options{Quality: 80})
	} else {
		err = png.Encode(&b, drawn(w, h))
	}
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// secret is what no picture may carry out of the house.
const secret = "47.1234N 8.5678E"

// exif is a TIFF structure as a phone writes it: make, which way up, and a place,
// in the order of the bytes given.
func exif(order binary.AppendByteOrder, turned int) []byte {
	b := []byte("II*\x00")
	if order.String() == binary.BigEndian.String() {
		b = []byte("MM\x00*")
	}
	b = order.AppendUint32(b, 8)
	b = order.AppendUint16(b, 3)
	entry := func(tag, kind uint16, count, value uint32, short bool) {
		b = order.AppendUint16(order.AppendUint16(b, tag), kind)
		b = order.AppendUint32(b, count)
		if short {
			b = order.AppendUint16(order.AppendUint16(b, uint16(value)), 0)
		} else {
			b = order.AppendUint32(b, value)
		}
	}
	entry(0x010f, 2, uint32(len(secret)), 50, false)
	entry(0x0112, 3, 1, uint32(turned), true)
	entry(0x8825, 4, 1, 50, false)
	b = order.AppendUint32(b, 0)
	return append(b, secret...)
}

// dressed puts into a JPEG, behind its start, what cameras and programs put
// there, and behind its end a second picture.
func dressed(t testing.TB, plain []byte, turned int) []byte {
	t.Helper()
	b := appendSegment([]byte{0xff, soi}, app0, append([]byte("JFIF\x00\x01\x02\x01\x00\x48\x00\x48\x01\x01"), 1, 2, 3))
	b = appendSegment(b, app1, append([]byte(exifHead), exif(binary.LittleEndian, turned)...))
	b = appendSegment(b, app1, []byte("http://ns.adobe.com/xap/1.0/\x00<x>"+secret+"</x>"))
	b = appendSegment(b, app2, []byte("ICC_PROFILE\x00\x01\x01colours"))
	b = appendSegment(b, app2, []byte("MPF\x00"+secret))
	b = appendSegment(b, 0xed, []byte("Photoshop 3.0\x00"+secret))
	b = appendSegment(b, 0xfe, []byte(secret))
	b = appendSegment(b, 0xe5, []byte(secret))
	b = append(b, 0xff, 0xff) // filling bytes are allowed before a marker
	b = append(b, plain[3:]...)
	return append(append(b, secret...), plain...)
}

// samePoints compares two files point by point, as the decoders of the standard
// library see them.
func samePoints(t *testing.T, a, b []byte) {
	t.Helper()
	x, _, err := image.Decode(bytes.NewReader(a))
	y, _, err2 := image.Decode(bytes.NewReader(b))
	if err != nil || err2 != nil || x.Bounds() != y.Bounds() {
		t.Fatalf("decode: %v, %v", err, err2)
	}
	for v := range x.Bounds().Dy() {
		for u := range x.Bounds().Dx() {
			if x.At(u, v) != y.At(u, v) {
				t.Fatalf("point %d,%d differs: %v, %v", u, v, x.At(u, v), y.At(u, v))
			}
		}
	}
}

// clean cleans a picture, and once more without any change.
func clean(t *testing.T, b []byte) Picture {
	t.Helper()
	p, err := Clean(b)
	if err != nil {
		t.Fatal(err)
	}
	again, err := Clean(p.Bytes)
	if err != nil || !bytes.Equal(again.Bytes, p.Bytes) || again.Width != p.Width || again.Turned != p.Turned || again.Type != p.Type {
		t.Errorf("cleaned again it is %d bytes, %d by %d, %v; want the same %d bytes", len(again.Bytes), again.Width, again.Height, err, len(p.Bytes))
	}
	if bytes.Contains(p.Bytes, []byte(secret)) {
		t.Error("the place is still in it")
	}
	return p
}

func TestJPEG(t *testing.T) {
	plain := encoded(t, JPEG, 60, 40)
	for turned := range 9 {
		p := clean(t, dressed(t, plain, turned))
		samePoints(t, plain, p.Bytes)
		want := max(turned, 1)
		w, h := 60, 40
		if want >= 5 {
			w, h = h, w
		}
		if p.Type != JPEG || p.Turned != want || p.Width != w || p.Height != h {
			t.Errorf("turned %d: %s %d by %d, turned %d; want %d by %d", turned, p.Type, p.Width, p.Height, p.Turned, w, h)
		}
		if !bytes.Contains(p.Bytes, []byte("ICC_PROFILE\x00\x01\x01colours")) {
			t.Error("the profile of its colours is gone")
		}
		if most := len(plain) + 100; len(p.Bytes) > most {
			t.Errorf("%d bytes are left, want at most %d", len(p.Bytes), most)
		}
	}
}

// TestRestarts: a picture that is coded in pieces, with markers within it, and
// one of several scans, stay whole.
func TestRestarts(t *testing.T) {
	plain := encoded(t, JPEG, 16, 8)
	at := bytes.Index(plain, []byte{0xff, sos})
	scan := at + 2 + int(binary.BigEndian.Uint16(plain[at+2:]))
	odd := slices.Concat(plain[:scan], []byte{1, 0xff, 0, 2, 0xff, rst0, 3, 0xff, rst7, 4}, plain[at:scan], []byte{5, 0xff, 0}, []byte{0xff, eoi})
	p := clean(t, odd)
	if !bytes.Equal(p.Bytes, odd) {
		t.Errorf("%d of %d bytes are left", len(p.Bytes), len(odd))
	}
}

func TestPNG(t *testing.T) {
	plain := encoded(t, PNG, 30, 20)
	rest := plain[len(pngHead)+25:]
	for _, turned := range []int{1, 3, 6} {
		b := slices.Clone(plain[:len(pngHead)+25])
		b = appendChunk(b, "tEXt", []byte("Comment\x00"+secret))
		b = appendChunk(b, "iTXt", []byte("XML:com.adobe.xmp\x00\x00\x00\x00\x00"+secret))
		b = appendChunk(b, "eXIf", exif(binary.BigEndian, turned))
		b = appendChunk(b, "tIME", []byte{7, 234, 7, 14, 12, 0, 0})
		b = appendChunk(b, "prVt", []byte(secret))
		b = appendChunk(b, "gAMA", []byte{0, 0, 0xb1, 0x8f})
		b = append(append(b, rest...), secret...)
		p := clean(t, b)
		samePoints(t, plain, p.Bytes)
		w, h := 30, 20
		if turned >= 5 {
			w, h = h, w
		}
		if p.Type != PNG || p.Turned != turned || p.Width != w || p.Height != h || !bytes.Contains(p.Bytes, []byte("gAMA")) || bytes.Contains(p.Bytes, []byte("tIME")) {
			t.Errorf("turned %d: %s %d by %d, turned %d", turned, p.Type, p.Width, p.Height, p.Turned)
		}
	}
}

// TestWebP works on files that a browser wrote.
func TestWebP(t *testing.T) {
	for _, name := range []string{"lossy", "lossless", "alpha"} {
		b, err := os.ReadFile(filepath.Join("testdata", name+".webp"))
		if err != nil {
			t.Fatal(err)
		}
		if p := clean(t, b); !bytes.Equal(p.Bytes, b) || p.Width != 5 || p.Height != 3 || p.Type != WebP {
			t.Errorf("%s: %s %d by %d, %d of %d bytes", name, p.Type, p.Width, p.Height, len(p.Bytes), len(b))
		}
		body := append([]byte{}, b[8:]...)
		body[4+8] |= webpExif | 0x04 // of VP8X
		body = appendRIFF(body, "EXIF", exif(binary.LittleEndian, 6))
		body = appendRIFF(body, "XMP ", []byte(secret))
		body = appendRIFF(body, "prvt", []byte(secret))
		p := clean(t, append(appendRIFF(nil, "RIFF", body), secret...))
		if p.Width != 3 || p.Height != 5 || p.Turned != 6 {
			t.Errorf("%s with Exif: %d by %d, turned %d", name, p.Width, p.Height, p.Turned)
		}
		at := bytes.Index(b, []byte("VP8 "))
		if name == "lossless" {
			at = bytes.Index(b, []byte("VP8L"))
		}
		if name != "alpha" {
			simple := append(appendRIFF(nil, "RIFF", append([]byte("WEBP"), b[at:]...)), 1)
			if p := clean(t, simple); p.Width != 5 || p.Height != 3 || len(p.Bytes) != len(simple)-1 {
				t.Errorf("%s in the simple form: %d by %d, %d bytes", name, p.Width, p.Height, len(p.Bytes))
			}
		}
		moving := slices.Clone(b)
		moving[20] |= webpAnimation
		if _, err := Clean(moving); !errors.Is(err, ErrMoving) {
			t.Errorf("a moving %s gives %v, want ErrMoving", name, err)
		}
	}
}

func TestRefused(t *testing.T) {
	for name, b := range map[string][]byte{
		"nothing": nil, "a text": []byte("<svg onload=x>"), "GIF": []byte("GIF89a\x01\x00\x01\x00"), "HEIC": []byte("\x00\x00\x00\x18ftypheic\x00\x00"),
		"PDF": []byte("%PDF-1.7"), "a page": []byte("<!DOCTYPE html>\xff\xd8\xff"),
	} {
		if p, err := Clean(b); !errors.Is(err, ErrType) || p.Bytes != nil {
			t.Errorf("%s gives %v, want ErrType", name, err)
		}
	}
	large := slices.Clone(encoded(t, PNG, 4, 4))
	binary.BigEndian.PutUint32(large[16:], 30_000)
	binary.BigEndian.PutUint32(large[29:], crc32.ChecksumIEEE(large[12:29]))
	if _, err := Clean(large); !errors.Is(err, ErrPoints) {
		t.Errorf("a picture 30,000 wide gives %v, want ErrPoints", err)
	}
}

// TestCutShort: a file that ends early is refused, wherever it ends.
func TestCutShort(t *testing.T) {
	lossy, err := os.ReadFile(filepath.Join("testdata", "lossy.webp"))
	if err != nil {
		t.Fatal(err)
	}
	for name, b := range map[string][]byte{JPEG: encoded(t, JPEG, 20, 10), PNG: encoded(t, PNG, 20, 10), WebP: lossy} {
		for n := range len(b) {
			if _, err := Clean(b[:n]); !errors.Is(err, ErrDamaged) && !errors.Is(err, ErrType) {
				t.Fatalf("%s cut at %d of %d gives %v, want an error", name, n, len(b), err)
			}
		}
	}
	torn := encoded(t, PNG, 20, 10)
	torn[40] ^= 1
	if _, err := Clean(torn); !errors.Is(err, ErrDamaged) {
		t.Errorf("a changed byte in a PNG gives %v, want ErrDamaged", err)
	}
}

func FuzzClean(f *testing.F) {
	plain := encoded(f, JPEG, 8, 8)
	f.Add(plain)
	f.Add(dressed(f, plain, 6))
	f.Add(encoded(f, PNG, 8, 8))
	for _, name := range []string{"lossy", "lossless", "alpha"} {
		if b, err := os.ReadFile(filepath.Join("testdata", name+".webp")); err == nil {
			f.Add(b)
		}
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := Clean(b)
		if err != nil {
			return
		}
		again, err := Clean(p.Bytes)
		if err != nil || !bytes.Equal(again.Bytes, p.Bytes) {
			t.Errorf("what was cleaned is not clean: %v", err)
		}
	})
}

// ExampleClean takes the place out of a photo.
func ExampleClean() {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 12, 9))); err != nil {
		panic(err)
	}
	p, err := Clean(b.Bytes())
	fmt.Println(p.Type, p.Width, p.Height, err)
	// Output: image/png 12 9 <nil>
}

// BenchmarkClean cleans a photo of some two megabytes. Budget: 10 ms, which a poor
// phone makes a twentieth of a second.
func BenchmarkClean(b *testing.B) {
	file := dressed(b, encoded(b, JPEG, 4000, 3000), 6)
	b.SetBytes(int64(len(file)))
	for b.Loop() {
		if _, err := Clean(file); err != nil {
			b.Fatal(err)
		}
	}
}
