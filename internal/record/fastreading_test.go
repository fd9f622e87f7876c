package record

import (
	"encoding/json"
	"reflect"
	"testing"

	"rung/internal/journal"
)

// plain are readings in the form that is read by hand, and odd ones in forms
// that are not.
var (
	plain = []string{
		`{"visit":"V","check":"cap-bench","point":"herm","demand":"off","text":"4.90","unit":"µF"}`,
		`{"visit":"","check":"","point":"","demand":"","text":"","not_readable":true,"place":"at the gate","instrument":"meter 2","by":"Ada","unsettled":true,"doubt":"loose lead","note":"swollen","after_repair":"R"}`,
		`{"text":"1","text":"2"}`,
	}
	odd = []string{
		`{}`, ``, `{"text":"a\u0062"}`, `{"text":"\"quoted\""}`, `{"text":"a`, `{"text":"1"} `, ` {"text":"1"}`, `{"text": "1"}`, `{"text":null}`, `{"text":5}`,
		`{"unsettled":false}`, `{"unsettled":true`, `{"unsettled":trueish}`, `{"TEXT":"1"}`, `{"novelty":"1"}`, `{"at":"2026-07-14T15:04:00Z"}`, `{"text":"1",}`, `{"text":"1"}}`,
		"{\"text\":\"a\nb\"}", "{\"text\":\"\xff\"}", `[]`, `{"text":"1"}{"text":"2"}`,
	}
)

// sameAsJSON wants a reading that was read by hand to be what encoding/json
// reads, and reports whether it was.
func sameAsJSON(t *testing.T, text string) bool {
	t.Helper()
	got, byHand := plainReading(text)
	var want ReadingTaken
	err := json.Unmarshal([]byte(text), &want)
	if byHand && (err != nil || !reflect.DeepEqual(got, want)) {
		t.Errorf("%q is read as\n%+v, want\n%+v, %v", text, got, want, err)
	}
	return byHand
}

func TestPlainReading(t *testing.T) {
	for _, text := range plain {
		if !sameAsJSON(t, text) {
			t.Errorf("%s is not read by hand", text)
		}
	}
	for _, text := range odd {
		if sameAsJSON(t, text) {
			t.Errorf("%q is read by hand", text)
		}
	}
	// What Encode writes is read by hand, unless it has to be escaped or has a
	// time.
	for _, event := range samples() {
		if r, ok := event.(ReadingTaken); ok {
			r.At = nil
			if e := Encode(journal.Envelope{}, r); !sameAsJSON(t, string(e.Payload)) {
				t.Errorf("%s is not read by hand", e.Payload)
			}
		}
	}
}

// Budget: 1 µs, a fifth of what encoding/json takes; beside it that.
func BenchmarkDecodeReading(b *testing.B) {
	e := journal.Envelope{Kind: "reading-taken", Version: 1, Payload: []byte(plain[0])}
	b.Run("by hand", func(b *testing.B) {
		for b.Loop() {
			if _, err := Decode(e); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("by encoding json", func(b *testing.B) {
		for b.Loop() {
			if _, err := unmarshal[ReadingTaken](e.Payload); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func FuzzPlainReading(f *testing.F) {
	for _, text := range append(plain, odd...) {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) { sameAsJSON(t, text) })
}
