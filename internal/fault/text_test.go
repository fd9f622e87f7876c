package fault

import (
	"errors"
	"strings"
	"testing"
)

const head = "# title: T\n# source: practice: nobody\n"

func TestParseFile(t *testing.T) {
	f, err := ParseFile("x.txt", head+`
fault a-b
text: one
  two
text.es: uno
# a remark
pair c
why: because: so
`)
	if err != nil {
		t.Fatal(err)
	}
	if f.Title != "T" || f.Source.Ref != "nobody" || len(f.Blocks) != 2 {
		t.Fatalf("ParseFile = %+v", f)
	}
	if b := f.Blocks[0]; b.Kind != "fault" || b.ID != "a-b" || b.Line != 4 || b.Fields[0].Value != "one two" || b.Fields[1].Key != "text.es" {
		t.Errorf("first block = %+v", b)
	}
	if b := f.Blocks[1]; b.Fields[0].Value != "because: so" || b.Fields[0].Line != 10 {
		t.Errorf("second block = %+v", b)
	}
}

func TestParseFileErrors(t *testing.T) {
	for _, c := range []struct {
		text string
		line int
	}{
		{"fault a\n", 1}, // no head
		{"# title: T\n# source: hearsay: x\n", 2},
		{head + "key: value\n", 3},
		{head + "  goes on\n", 3},
		{head + "fault a\n  goes on\n", 4},
		{head + "fault A\n", 3},
		{head + "fault\n", 3},
		{head + "fault a b\n", 3},
		{head + "fault a\nkey:\n", 4},
		{head + "fault a\nKey: v\n", 4},
	} {
		_, err := ParseFile("x.txt", c.text)
		var se *SyntaxError
		if !errors.As(err, &se) || se.Line != c.line {
			t.Errorf("ParseFile(%q) = %v, want a SyntaxError in line %d", c.text, err, c.line)
		}
	}
}

func TestDecodeErrors(t *testing.T) {
	type thing struct {
		name string
		n    float64
	}
	keys := map[string]Key[thing]{
		"name": Required(InWords(func(x *thing) *string { return &x.name })),
		"n":    Number(func(x *thing) *float64 { return &x.n }, 0, 10),
	}
	for _, c := range []struct {
		fields string
		want   string
	}{
		{"name: x\nn: 3\n", ""},
		{"n: 3\n", "missing"},
		{"name: x\nname: y\n", "twice"},
		{"name: x\nm: 3\n", "unknown field"},
		{"name: x\nn: 11\n", "not a number from 0 to 10"},
		{"name: x\nn: NaN\n", "not a number"},
	} {
		f, err := ParseFile("x.txt", head+"thing a\n"+c.fields)
		if err != nil {
			t.Fatal(err)
		}
		var x thing
		err = Decode(f, f.Blocks[0], keys, &x)
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("Decode(%q) = %v, want %q", c.fields, err, c.want)
		}
	}
}

func TestText(t *testing.T) {
	both, one := Text{EN: "fuse", ES: "fusible"}, Text{EN: "fuse"}
	if both.In("es") != "fusible" || both.In("en") != "fuse" || one.In("es") != "fuse" {
		t.Errorf("In = %q, %q, %q", both.In("es"), both.In("en"), one.In("es"))
	}
}

func FuzzParseFile(f *testing.F) {
	f.Add(head + "fault a\nkey: value\n  more\n")
	f.Add("# title:\n#source\nx\n")
	for _, name := range []string{"faults-cooling.txt", "pairs.txt"} {
		text, err := data.ReadFile("data/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	f.Fuzz(func(t *testing.T, text string) {
		a, err := ParseFile("a", text)
		if err != nil {
			return
		}
		b, err := ParseFile("a", a.String())
		if err != nil {
			t.Fatalf("printed form does not parse: %v\n%s", err, a)
		}
		if a.String() != b.String() {
			t.Errorf("printed and parsed again:\n%s\nwant\n%s", b, a)
		}
	})
}
