package paperwork

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

const codeHead = "RUNG 1"

// ErrCode says that a text is not the code of a panel note.
var ErrCode = errors.New("not the code of a panel note")

// once returns the facts that stand on one line at most, in their order.
func (n *Note) once() []fact {
	return []fact{
		{"UNIT", &n.Unit}, {"ID", &n.UnitID}, {"DAY", &n.Day}, {"BY", &n.By},
		{"SAID", &n.Said}, {"FOUND", &n.Found}, {"DID", &n.Did},
		{"REFR", &n.Charge}, {"ADDED", &n.Added},
		{"TASK", &n.Todo}, {"FILTER", &n.Filter}, {"DUE", &n.Due},
	}
}

type fact struct {
	word string
	text *string
}

// Text returns the whole note as the text of a code, however long.
func (n Note) Text() string {
	var b strings.Builder
	b.WriteString(codeHead)
	line := func(word, text string) {
		if text != "" {
			b.WriteString("\n" + word + " " + text)
		}
	}
	for _, f := range n.once() {
		line(f.word, escape(*f.text, ""))
	}
	for _, r := range n.Readings {
		text := escape(r.Name, ":;") + ": " + escape(r.Value, ":;")
		if r.Doubt != "" {
			text += "; " + escape(r.Doubt, ":;")
		}
		line("READ", text)
	}
	for _, why := range n.Unjudged {
		line("UNJUDGED", escape(why, ""))
	}
	if n.More > 0 {
		line("MORE", strconv.Itoa(n.More))
	}
	for _, l := range n.Other {
		line(l.Word, escape(l.Text, ""))
	}
	return b.String()
}

// Short returns the note with as much left out that its text fits into limit
// bytes: reasons for not judging the charge beyond a third of the room, then the
// last readings, then the rest of the reasons, all counted in More; at last the
// longest facts are cut off with "…". A limit too small for the names of the
// facts alone is an error.
func (n Note) Short(limit int) (Note, error) {
	for len(n.Text()) > limit {
		switch reasons := strings.Join(n.Unjudged, "\nUNJUDGED "); {
		case len(n.Unjudged) > 1 && 3*len(reasons) > limit, len(n.Unjudged) > 0 && len(n.Readings) == 0:
			n.Unjudged = n.Unjudged[:len(n.Unjudged)-1]
			n.More++
		case len(n.Readings) > 0:
			n.Readings = n.Readings[:len(n.Readings)-1]
			n.More++
		case !n.cutLongest():
			return Note{}, fmt.Errorf("paperwork: a note of %d bytes does not fit into %d", len(n.Text()), limit)
		}
	}
	return n, nil
}

// cutLongest halves the longest fact; false if none is left to cut.
func (n *Note) cutLongest() bool {
	const least = 16 // letters: less tells nothing
	longest := slices.MaxFunc(n.once(), func(a, b fact) int { return cmp.Compare(len(*a.text), len(*b.text)) })
	letters := []rune(strings.TrimSuffix(*longest.text, "…"))
	if len(letters) <= least {
		return false
	}
	*longest.text = strings.TrimSpace(string(letters[:max(least, len(letters)/2)])) + "…"
	return true
}

// ParseCode reads the text of a code back into the note. The error wraps
// ErrCode and names the line.
func ParseCode(text string) (Note, error) {
	head, rest, _ := strings.Cut(text, "\n")
	if head != codeHead {
		return Note{}, fmt.Errorf("%w: it begins with %q, want %q", ErrCode, head, codeHead)
	}
	var n Note
	if rest == "" {
		return n, nil
	}
	for i, line := range strings.Split(rest, "\n") {
		word, text, ok := strings.Cut(line, " ")
		if !ok || !isWord(word) || text == "" {
			return Note{}, fmt.Errorf("%w: line %d is %q, want a word in capitals and a text", ErrCode, i+2, line)
		}
		if err := n.add(word, text); err != nil {
			return Note{}, fmt.Errorf("%w: line %d: %v", ErrCode, i+2, err)
		}
	}
	return n, nil
}

// add takes one line into the note.
func (n *Note) add(word, text string) error {
	switch word {
	case "READ":
		r, err := parseReading(text)
		if err != nil {
			return err
		}
		n.Readings = append(n.Readings, r)
		return nil
	case "UNJUDGED":
		n.Unjudged = append(n.Unjudged, unescape(text))
		return nil
	case "MORE":
		more, err := strconv.Atoi(text)
		if err != nil || more <= 0 || n.More > 0 {
			return fmt.Errorf("MORE %s is not a count", text)
		}
		n.More = more
		return nil
	}
	for _, f := range n.once() {
		if f.word == word && *f.text == "" {
			*f.text = unescape(text)
			return nil
		}
	}
	n.Other = append(n.Other, Line{word, unescape(text)})
	return nil
}

func parseReading(text string) (Reading, error) {
	name, value, ok := cutUnescaped(text, ": ")
	if !ok {
		return Reading{}, fmt.Errorf("reading %q has no colon", text)
	}
	value, doubt, _ := cutUnescaped(value, "; ")
	return Reading{unescape(name), unescape(value), unescape(doubt)}, nil
}

func isWord(s string) bool {
	for _, c := range []byte(s) {
		if c < 'A' || c > 'Z' {
			return false
		}
	}
	return s != ""
}

// escape puts a backslash before line breaks, backslashes and the signs given.
func escape(s, signs string) string {
	var b strings.Builder
	for _, c := range []byte(s) {
		switch {
		case c == '\n':
			b.WriteString(`\n`)
		case c == '\r':
			b.WriteString(`\r`)
		case c == '\\' || strings.IndexByte(signs, c) >= 0:
			b.WriteByte('\\')
			b.WriteByte(c)
		default:
			b.WriteByte(c)
		}
	}
	return b.String()
}

func unescape(s string) string {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		c := s[i]
		if c == '\\' && i+1 < len(s) {
			i++
			switch c = s[i]; c {
			case 'n':
				c = '\n'
			case 'r':
				c = '\r'
			}
		}
		b.WriteByte(c)
	}
	return b.String()
}

// cutUnescaped cuts s at the first separator that no backslash stands before.
func cutUnescaped(s, separator string) (before, after string, found bool) {
	for i := 0; i < len(s); i++ {
		if s[i] == '\\' {
			i++
			continue
		}
		if strings.HasPrefix(s[i:], separator) {
			return s[:i], s[i+len(separator):], true
		}
	}
	return s, "", false
}
