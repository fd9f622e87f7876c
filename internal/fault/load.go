package fault

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"strconv"
	"strings"
	"sync"

	"rung/internal/plant"
	"rung/internal/source"
)

//go:embed data/*.txt
var data embed.FS

// Load returns the catalogue, read at the first call: one for all callers, who
// change nothing in it. An error is a mistake in the data: a *SyntaxError with
// file and line.
func Load() (*Catalogue, error) { return shared() }

var shared = sync.OnceValues(func() (*Catalogue, error) { return LoadFS(data, "data") })

// LoadFS reads a catalogue from the files dir/*.txt of a file system.
func LoadFS(fsys fs.FS, dir string) (*Catalogue, error) {
	files, err := ReadFiles(fsys, dir)
	if err != nil {
		return nil, err
	}
	l := loader{origins: map[string]source.Source{}, ids: map[string]bool{}}
	l.keys = l.faultKeys()
	for _, pass := range []func(File, Block) error{l.origin, l.entry} {
		for _, f := range files {
			for _, b := range f.Blocks {
				if err := pass(f, b); err != nil {
					return nil, err
				}
			}
		}
	}
	return &l.c, l.c.check()
}

// ReadFiles parses every .txt file of dir, by name.
func ReadFiles(fsys fs.FS, dir string) ([]File, error) {
	names, err := fs.Glob(fsys, path.Join(dir, "*.txt"))
	if err != nil {
		return nil, err
	}
	var files []File
	for _, name := range names {
		text, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, fmt.Errorf("read catalogue: %w", err)
		}
		f, err := ParseFile(name, string(text))
		if err != nil {
			return nil, err
		}
		files = append(files, f)
	}
	return files, nil
}

type loader struct {
	c       Catalogue
	origins map[string]source.Source
	ids     map[string]bool // "kind id" seen
	keys    map[string]Key[Fault]
}

func (l *loader) wrong(f File, b Block, msg string) error {
	return &SyntaxError{File: f.Name, Line: b.Line, Msg: b.Kind + " " + b.ID + ": " + msg}
}

func (l *loader) origin(f File, b Block) error {
	if l.ids[b.Kind+" "+b.ID] {
		return l.wrong(f, b, "stands twice")
	}
	l.ids[b.Kind+" "+b.ID] = true
	if b.Kind != "origin" {
		return nil
	}
	var s source.Source
	err := Decode(f, b, map[string]Key[source.Source]{"source": Required(Sourced(func(s *source.Source) *source.Source { return s }))}, &s)
	l.origins[b.ID] = s
	return err
}

func (l *loader) entry(f File, b Block) (err error) {
	switch b.Kind {
	case "origin":
	case "fault":
		x := Fault{ID: b.ID, Complaints: map[string]float64{}}
		err = Decode(f, b, l.keys, &x)
		l.c.Faults = append(l.c.Faults, x)
	case "repair":
		x := Repair{ID: b.ID, Fix: 1}
		err = Decode(f, b, repairKeys, &x)
		l.c.Repairs = append(l.c.Repairs, x)
	case "complaint":
		x := Complaint{ID: b.ID}
		err = Decode(f, b, complaintKeys, &x)
		l.c.Complaints = append(l.c.Complaints, x)
	case "pair":
		x := Pair{ID: b.ID}
		err = Decode(f, b, pairKeys, &x)
		l.c.Pairs = append(l.c.Pairs, x)
	case "family":
		x := Family{ID: b.ID}
		err = Decode(f, b, familyKeys, &x)
		l.c.Families = append(l.c.Families, x)
	case "left-out":
		x := LeftOut{ID: b.ID}
		err = Decode(f, b, leftOutKeys, &x)
		l.c.LeftOut = append(l.c.LeftOut, x)
	default:
		err = l.wrong(f, b, "unknown kind of block")
	}
	return err
}

func (l *loader) faultKeys() map[string]Key[Fault] {
	return map[string]Key[Fault]{
		"name":       Required(InWords(func(f *Fault) *string { return &f.Name.EN })),
		"name.es":    InWords(func(f *Fault) *string { return &f.Name.ES }),
		"group":      Required(InWords(func(f *Fault) *string { return &f.Group })),
		"part":       Required(InWords(func(f *Fault) *string { return &f.Part })),
		"mode":       Required(InWords(func(f *Fault) *string { return &f.Mode })),
		"text":       Required(InWords(func(f *Fault) *string { return &f.Text.EN })),
		"text.es":    InWords(func(f *Fault) *string { return &f.Text.ES }),
		"repair":     Required(InWords(func(f *Fault) *string { return &f.Repair })),
		"weight":     {Set: l.setWeight, Must: true},
		"when":       {Set: func(f *Fault, s string) error { return addEquipment(&f.When, s) }},
		"unless":     {Set: func(f *Fault, s string) error { return addEquipment(&f.Unless, s) }},
		"complaints": {Set: func(f *Fault, s string) error { return setShares(f.Complaints, s) }, Must: true},
		"in-heat": {Set: func(f *Fault, s string) error {
			f.InHeat = map[string]float64{}
			return setShares(f.InHeat, s)
		}},
		"severity":    InWords(func(f *Fault) *string { return &f.SeverityText.EN }),
		"severity.es": InWords(func(f *Fault) *string { return &f.SeverityText.ES }),
		"effect":      {Set: addEffect, Repeat: true},
		"charge":      Flag(func(f *Fault) *bool { return &f.Charge }),
		"duty":        Number(func(f *Fault) *float64 { return &f.Duty }, 0.05, 1),
		"healthy":     Flag(func(f *Fault) *bool { return &f.Healthy }),
		"wiring":      Flag(func(f *Fault) *bool { return &f.Wiring }),
	}
}

var repairKeys = map[string]Key[Repair]{
	"name":     Required(InWords(func(r *Repair) *string { return &r.Name.EN })),
	"name.es":  InWords(func(r *Repair) *string { return &r.Name.ES }),
	"part":     Required(InWords(func(r *Repair) *string { return &r.Part })),
	"minutes":  Required(Number(func(r *Repair) *float64 { return &r.Minutes }, 1, 1000)),
	"wrong":    Required(Number(func(r *Repair) *float64 { return &r.Wrong }, 0, 2000)),
	"fix":      Number(func(r *Repair) *float64 { return &r.Fix }, 0.5, 1),
	"invasive": InWords(func(r *Repair) *string { return &r.Invasive }),
	"charge":   Flag(func(r *Repair) *bool { return &r.Charge }),
	"licence":  InWords(func(r *Repair) *string { return &r.Licence }),
	"safety":   Required(InWords(func(r *Repair) *string { return &r.Safety })),
	"needs":    IDs(func(r *Repair) *[]string { return &r.Needs }),
	"caution":  IDs(func(r *Repair) *[]string { return &r.Cautions }),
	"note":     InWords(func(r *Repair) *string { return &r.Note.EN }),
	"note.es":  InWords(func(r *Repair) *string { return &r.Note.ES }),
	"why":      Required(InWords(func(r *Repair) *string { return &r.Why.EN })),
	"why.es":   InWords(func(r *Repair) *string { return &r.Why.ES }),
	"proof":    Required(IDs(func(r *Repair) *[]string { return &r.Proof })),
	"induces":  IDs(func(r *Repair) *[]string { return &r.Induces }),
}

var complaintKeys = map[string]Key[Complaint]{
	"word":    Required(InWords(func(c *Complaint) *string { return &c.Word.EN })),
	"word.es": InWords(func(c *Complaint) *string { return &c.Word.ES }),
	"says":    {Set: func(c *Complaint, s string) error { c.Says = append(c.Says, s); return nil }, Must: true, Repeat: true},
	"ask":     Required(InWords(func(c *Complaint) *string { return &c.Ask })),
	"mode":    {Set: setMode},
}

// setMode reads the mode to which a complaint belongs.
func setMode(c *Complaint, s string) error {
	if s != "heat" && s != "cool" {
		return fmt.Errorf("%q, want heat or cool", s)
	}
	c.Mode = s
	return nil
}

var pairKeys = map[string]Key[Pair]{
	"first":    Required(InWords(func(p *Pair) *string { return &p.First })),
	"second":   Required(InWords(func(p *Pair) *string { return &p.Second })),
	"together": Flag(func(p *Pair) *bool { return &p.Together }),
	"either":   Flag(func(p *Pair) *bool { return &p.Either }),
	"rate":     Required(Number(func(p *Pair) *float64 { return &p.Rate }, 1e-4, 1)),
	"why":      Required(InWords(func(p *Pair) *string { return &p.Why.EN })),
	"why.es":   InWords(func(p *Pair) *string { return &p.Why.ES }),
}

var leftOutKeys = map[string]Key[LeftOut]{
	"reason": Required(InWords(func(l *LeftOut) *string { return &l.Reason })),
}

// setWeight reads "150 tally": a number and an origin.
func (l *loader) setWeight(f *Fault, s string) error {
	number, origin, _ := strings.Cut(s, " ")
	w, err := strconv.ParseFloat(number, 64)
	if err != nil || !(0 < w && w <= 1e4) {
		return fmt.Errorf("%q is not a weight above 0", number)
	}
	src, known := l.origins[strings.TrimSpace(origin)]
	if !known {
		return fmt.Errorf("unknown origin %q", origin)
	}
	f.Weight, f.Origin = w, src
	return nil
}

// addEquipment reads names of equipment that some parameter of the plant, or
// always, needs: other names would never be fitted.
func addEquipment(list *[]plant.Equipment, s string) error {
	for _, word := range strings.Fields(s) {
		e := plant.Equipment(word)
		if !known[e] {
			return fmt.Errorf("no equipment %q", word)
		}
		*list = append(*list, e)
	}
	return nil
}

// known is the equipment on which parameters of the plant depend.
var known = func() map[plant.Equipment]bool {
	m := map[plant.Equipment]bool{}
	for _, p := range plant.Registry() {
		m[p.Needs] = true
	}
	return m
}()

// setShares reads "not-cooling=0.4 weak-cooling=0.2".
func setShares(shares map[string]float64, s string) error {
	sum := 0.0
	for _, part := range strings.Fields(s) {
		id, number, _ := strings.Cut(part, "=")
		share, err := strconv.ParseFloat(number, 64)
		if err != nil || !(0 < share && share <= 1) || shares[id] != 0 {
			return fmt.Errorf("%q: want complaint=share, each once, share above 0 up to 1", part)
		}
		shares[id] = share
		sum += share
	}
	if sum > 1+1e-9 {
		return fmt.Errorf("shares add up to %g, above 1", sum)
	}
	return nil
}
