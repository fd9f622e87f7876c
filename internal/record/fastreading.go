package record

import (
	"encoding/json"
	"strings"
	"unicode/utf8"
)

// readReading reads a ReadingTaken. Four of five entries are readings, and
// reading their text took more than half of a fold; so the form in which Encode
// writes them is read by hand, in a quarter of the time, and any other form by
// encoding/json.
func readReading(payload []byte) (Event, error) {
	if r, ok := plainReading(string(payload)); ok {
		return r, nil
	}
	var r ReadingTaken
	if err := json.Unmarshal(payload, &r); err != nil {
		return nil, err
	}
	return r, nil
}

// plainReading reads an object of plain strings and true. It gives up, with
// false, on whatever is not quite so: blanks, escapes, other values, names that
// it does not know. What it reads is what encoding/json would; a fuzz test
// compares them.
func plainReading(text string) (r ReadingTaken, ok bool) {
	if !strings.HasPrefix(text, "{") || !utf8.ValidString(text) {
		return r, false
	}
	for rest := text[1:]; ; {
		name, after, ok := plainString(rest)
		if !ok || !strings.HasPrefix(after, ":") {
			return r, false
		}
		if rest, ok = r.plainField(name, after[1:]); !ok {
			return r, false
		}
		if rest == "}" {
			return r, true
		}
		if !strings.HasPrefix(rest, ",") {
			return r, false
		}
		rest = rest[1:]
	}
}

// plainField reads the value of a field at the head of text and returns what
// follows.
func (r *ReadingTaken) plainField(name, text string) (rest string, ok bool) {
	var to *string
	switch name {
	case "visit":
		to = (*string)(&r.Visit)
	case "check":
		to = &r.Check
	case "point":
		to = &r.Point
	case "demand":
		to = &r.Demand
	case "text":
		to = &r.Text
	case "unit":
		to = &r.Unit
	case "place":
		to = &r.Place
	case "instrument":
		to = &r.Instrument
	case "by":
		to = &r.By
	case "role":
		to = &r.Role
	case "doubt":
		to = &r.Doubt
	case "note":
		to = &r.Note
	case "after_repair":
		to = (*string)(&r.AfterRepair)
	case "not_readable":
		r.NotReadable = true
		return strings.CutPrefix(text, "true")
	case "unsettled":
		r.Unsettled = true
		return strings.CutPrefix(text, "true")
	default:
		return "", false
	}
	*to, rest, ok = plainString(text)
	return rest, ok
}

// plainString reads a string without escapes at the head of text, which is
// UTF-8, and returns what follows.
func plainString(text string) (value, rest string, ok bool) {
	if !strings.HasPrefix(text, `"`) {
		return "", "", false
	}
	for i := 1; i < len(text); i++ {
		switch c := text[i]; {
		case c == '"':
			return text[1:i], text[i+1:], true
		case c == '\\' || c < ' ':
			return "", "", false
		}
	}
	return "", "", false
}
