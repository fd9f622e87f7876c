package fieldtest

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"

	"rung/internal/fault"
	"rung/internal/plant"
	"rung/internal/quantity"
)

//go:embed data/*.txt
var data embed.FS

// Load returns the catalogue, read at the first call: one for all callers, who
// change nothing in it. An error is a mistake in the data, with file and line
// where there is one.
func Load() (*Catalogue, error) { return shared() }

var shared = sync.OnceValues(func() (*Catalogue, error) { return LoadFS(data, "data") })

// LoadFS reads a catalogue from the files dir/*.txt of a file system.
func LoadFS(fsys fs.FS, dir string) (*Catalogue, error) {
	files, err := fault.ReadFiles(fsys, dir)
	if err != nil {
		return nil, err
	}
	l := loader{seen: map[string]bool{}}
	for _, f := range files {
		for _, b := range f.Blocks {
			if err := l.entry(f, b); err != nil {
				return nil, err
			}
		}
	}
	return &l.c, l.c.check()
}

type loader struct {
	c    Catalogue
	seen map[string]bool // "kind id"
}

func (l *loader) entry(f fault.File, b fault.Block) error {
	wrong := func(msg string) error {
		return &fault.SyntaxError{File: f.Name, Line: b.Line, Msg: b.Kind + " " + b.ID + ": " + msg}
	}
	if b.Kind != "point" {
		if l.seen[b.Kind+" "+b.ID] {
			return wrong("stands twice")
		}
		l.seen[b.Kind+" "+b.ID] = true
	}
	switch b.Kind {
	case "check":
		return decode(f, b, checkKeys, &l.c.Checks, Check{ID: b.ID})
	case "setup":
		return decode(f, b, setupKeys, &l.c.Setups, Setup{ID: b.ID})
	case "caution":
		return decode(f, b, cautionKeys, &l.c.Cautions, Caution{ID: b.ID})
	case "class":
		return decode(f, b, safetyKeys, &l.c.Safeties, Safety{ID: b.ID})
	case "alike":
		return decode(f, b, alikeKeys, &l.c.Alikes, Alike{Fault: b.ID})
	case "point":
		if len(l.c.Checks) == 0 {
			return wrong("a point stands before its check")
		}
		c := &l.c.Checks[len(l.c.Checks)-1]
		if _, p, _ := l.c.Point(c.ID, b.ID); p != nil && p.ID == b.ID {
			return wrong("stands twice in " + c.ID)
		}
		if err := decode(f, b, pointKeys, &c.Points, Point{ID: b.ID, Subsystem: c.Subsystem}); err != nil {
			return err
		}
		p := &c.Points[len(c.Points)-1]
		if p.Wiring != "" && p.WiringDemands == nil {
			p.WiringDemands = p.Demands
		}
		if err := p.complete(); err != nil {
			return wrong(err.Error())
		}
		return nil
	}
	return wrong("unknown kind of block")
}

// decode reads a block into x and appends it.
func decode[T any](f fault.File, b fault.Block, keys map[string]fault.Key[T], list *[]T, x T) error {
	if err := fault.Decode(f, b, keys, &x); err != nil {
		return err
	}
	*list = append(*list, x)
	return nil
}

var checkKeys = map[string]fault.Key[Check]{
	"name":          fault.Required(fault.InWords(func(c *Check) *string { return &c.Name.EN })),
	"name.es":       fault.InWords(func(c *Check) *string { return &c.Name.ES }),
	"measures":      fault.Required(fault.InWords(func(c *Check) *string { return &c.Measures.EN })),
	"measures.es":   fault.InWords(func(c *Check) *string { return &c.Measures.ES }),
	"where":         fault.Required(fault.InWords(func(c *Check) *string { return &c.Where.EN })),
	"where.es":      fault.InWords(func(c *Check) *string { return &c.Where.ES }),
	"instrument":    fault.Required(fault.InWords(func(c *Check) *string { return &c.Instrument.EN })),
	"instrument.es": fault.InWords(func(c *Check) *string { return &c.Instrument.ES }),
	"minutes":       fault.Required(fault.Number(func(c *Check) *float64 { return &c.Minutes }, 0.5, 120)),
	"per-point":     fault.Flag(func(c *Check) *bool { return &c.PerPoint }),
	"power":         {Set: setPower, Must: true},
	"needs":         fault.IDs(func(c *Check) *[]string { return &c.Needs }),
	"without":       fault.IDs(func(c *Check) *[]string { return &c.Without }),
	"safety":        fault.Required(fault.InWords(func(c *Check) *string { return &c.Safety })),
	"licence":       fault.InWords(func(c *Check) *string { return &c.Licence }),
	"subsystem":     fault.Required(fault.InWords(func(c *Check) *string { return &c.Subsystem })),
	"caution":       {Set: addCaution, Repeat: true},
	"step":          {Set: addStep, Must: true, Repeat: true},
	"step.es":       {Set: addStepES, Repeat: true},
}

func setPower(c *Check, s string) error {
	switch p := Power(s); p {
	case PowerOn, PowerOff, PowerEither:
		c.Power = p
		return nil
	}
	return fmt.Errorf("%q, want on, off or either", s)
}

// addCaution opens a step that addStep fills in: the caution stands before it.
func addCaution(c *Check, s string) error {
	if n := len(c.Steps); n == 0 || c.Steps[n-1].Text.EN != "" {
		c.Steps = append(c.Steps, Step{})
	}
	last := &c.Steps[len(c.Steps)-1]
	last.Cautions = append(last.Cautions, strings.Fields(s)...)
	return nil
}

func addStep(c *Check, s string) error {
	if n := len(c.Steps); n == 0 || c.Steps[n-1].Text.EN != "" {
		c.Steps = append(c.Steps, Step{})
	}
	c.Steps[len(c.Steps)-1].Text.EN = s
	return nil
}

// addStepES reads the Spanish of the step above it.
func addStepES(c *Check, s string) error {
	n := len(c.Steps)
	if n == 0 || c.Steps[n-1].Text.EN == "" || c.Steps[n-1].Text.ES != "" {
		return errors.New("stands beside no step")
	}
	c.Steps[n-1].Text.ES = s
	return nil
}

var pointKeys = map[string]fault.Key[Point]{
	"name":        fault.Required(fault.InWords(func(p *Point) *string { return &p.Name.EN })),
	"name.es":     fault.InWords(func(p *Point) *string { return &p.Name.ES }),
	"alone":       fault.Flag(func(p *Point) *bool { return &p.Alone }),
	"main":        fault.Flag(func(p *Point) *bool { return &p.Main }),
	"when":        {Set: func(p *Point, s string) error { p.When = plant.Equipment(s); return nil }},
	"dim":         {Set: func(p *Point, s string) error { p.Dim = quantity.Dimension(s); return nil }},
	"unit":        fault.InWords(func(p *Point) *string { return &p.Unit }),
	"words":       fault.IDs(func(p *Point) *[]string { return &p.Words }),
	"graded":      fault.IDs(func(p *Point) *[]string { return &p.Degrees }),
	"words.es":    {Set: func(p *Point, s string) error { p.WordsES = strings.Split(s, "|"); return nil }},
	"demands":     {Set: setDemands, Must: true},
	"phase":       {Set: setPhase, Must: true},
	"settle":      fault.Number(func(p *Point) *float64 { return &p.Settle }, 0, 60),
	"subsystem":   fault.InWords(func(p *Point) *string { return &p.Subsystem }),
	"accuracy":    {Set: setAccuracy},
	"resolution":  {Set: setResolution},
	"discrepancy": {Set: setDiscrepancy},
	"range":       {Set: setRange},
	"open-at-top": fault.Flag(func(p *Point) *bool { return &p.Meter.OpenAtTop }),
	"beyond":      fault.InWords(func(p *Point) *string { return &p.Beyond.EN }),
	"beyond.es":   fault.InWords(func(p *Point) *string { return &p.Beyond.ES }),
	"reads":       {Set: setReads},
	"wiring":      {Set: setWiring},
	"wired-at":    {Set: setWiringDemands},
}

func setDemands(p *Point, s string) (err error) {
	p.Demands, err = demandsOf(s)
	return err
}

func demandsOf(s string) ([]plant.Demand, error) {
	var list []plant.Demand
	for _, word := range strings.Fields(s) {
		d, err := plant.ParseDemand(word)
		if err != nil {
			return nil, err
		}
		list = append(list, d)
	}
	return list, nil
}

func setPhase(p *Point, s string) error {
	switch ph := Phase(s); ph {
	case Standing, AtStart, Settled:
		p.Phase = ph
		return nil
	}
	return fmt.Errorf("%q, want standing, at-start or settled", s)
}

// The fields of a meter come after dim.

func setAccuracy(p *Point, s string) (err error) {
	p.Meter.Accuracy, p.Meter.AccuracyRatio, err = spread(s, p.Dim)
	return err
}

func setResolution(p *Point, s string) (err error) {
	p.Meter.Resolution, _, err = spread(s, p.Dim)
	return err
}

func setDiscrepancy(p *Point, s string) (err error) {
	p.Meter.Discrepancy, p.Meter.DiscrepancyRatio, err = spread(s, p.Dim)
	return err
}

func setRange(p *Point, s string) (err error) {
	p.Meter.Low, p.Meter.High, err = between(s, p.Dim)
	return err
}

func setReads(p *Point, s string) error {
	p.Reads = s
	kind, rest, _ := strings.Cut(s, " ")
	maker, known := readers[kind]
	if !known {
		return fmt.Errorf("unknown kind of reading %q", kind)
	}
	var err error
	p.read, err = maker(p, strings.Fields(rest))
	return err
}

// complete checks what one point must have: words, or a whole meter.
func (p *Point) complete() error {
	m := &p.Meter
	switch {
	case p.Reads == "" && p.Wiring == "":
		return errors.New("a point is read on a plant, on a described system, or on both")
	case len(p.Words) == 1, len(p.WordsES) > 0 && len(p.WordsES) != len(p.Words):
		return errors.New("words: want two or more, and as many in each language")
	case len(p.Words) > 0 && (p.Dim != quantity.DimNone || *m != Meter{}):
		return errors.New("a point has words or a meter")
	case len(p.Degrees) > 0 && !sameWords(p.Degrees, p.Words):
		return errors.New("graded: want the words of the point, in order")
	case len(p.Words) > 0:
		return nil
	case p.Dim == quantity.DimNone || p.Unit == "" || p.Beyond.EN == "":
		return errors.New("a meter needs dim, unit and beyond")
	case m.Accuracy+m.AccuracyRatio == 0 || m.Resolution == 0 || m.Discrepancy+m.DiscrepancyRatio == 0 || m.Low == m.High:
		return errors.New("a meter needs accuracy, resolution, discrepancy and range")
	}
	return nil
}

// sameWords reports whether two lists hold the same words.
func sameWords(a, b []string) bool {
	return slices.Equal(slices.Sorted(slices.Values(a)), slices.Sorted(slices.Values(b)))
}

var setupKeys = map[string]fault.Key[Setup]{
	"name":     fault.Required(fault.InWords(func(s *Setup) *string { return &s.Name.EN })),
	"name.es":  fault.InWords(func(s *Setup) *string { return &s.Name.ES }),
	"minutes":  fault.Required(fault.Number(func(s *Setup) *float64 { return &s.Minutes }, 0, 60)),
	"undo":     fault.Required(fault.Number(func(s *Setup) *float64 { return &s.Undo }, 0, 60)),
	"excludes": fault.IDs(func(s *Setup) *[]string { return &s.Excludes }),
	"licence":  fault.InWords(func(s *Setup) *string { return &s.Licence }),
	"caution":  fault.IDs(func(s *Setup) *[]string { return &s.Cautions }),
	"step":     fault.Required(fault.InWords(func(s *Setup) *string { return &s.Step.EN })),
	"step.es":  fault.InWords(func(s *Setup) *string { return &s.Step.ES }),
}

var cautionKeys = map[string]fault.Key[Caution]{
	"text":    fault.Required(fault.InWords(func(c *Caution) *string { return &c.Text.EN })),
	"text.es": fault.InWords(func(c *Caution) *string { return &c.Text.ES }),
}

var safetyKeys = map[string]fault.Key[Safety]{
	"name":    fault.Required(fault.InWords(func(s *Safety) *string { return &s.Name.EN })),
	"name.es": fault.InWords(func(s *Safety) *string { return &s.Name.ES }),
	"rank":    fault.Required(fault.Number(func(s *Safety) *float64 { return &s.Rank }, 0, 9)),
	"alone":   fault.Required(fault.Flag(func(s *Safety) *bool { return &s.Alone })),
}

var alikeKeys = map[string]fault.Key[Alike]{
	"with": fault.Required(fault.IDs(func(a *Alike) *[]string { return &a.With })),
	"why":  fault.Required(fault.InWords(func(a *Alike) *string { return &a.Why })),
}

// check holds the entries against each other: every id named exists, every
// check has points, and steps of the dangerous classes carry a caution.
func (c *Catalogue) check() error {
	var errs []error
	miss := func(ok bool, format string, args ...any) {
		if !ok {
			errs = append(errs, fmt.Errorf(format, args...))
		}
	}
	for i := range c.Checks {
		k := &c.Checks[i]
		safety, ok := c.Safety(k.Safety)
		miss(ok, "check %s: no safety class %q", k.ID, k.Safety)
		miss(len(k.Points) > 0, "check %s: no points", k.ID)
		for _, id := range append(append([]string{}, k.Needs...), k.Without...) {
			_, ok := c.Setup(id)
			miss(ok, "check %s: no set-up state %q", k.ID, id)
		}
		cautions := 0
		for _, s := range k.Steps {
			miss(s.Text.EN != "", "check %s: a caution without its step", k.ID)
			miss((s.Text.ES == "") == (k.Steps[0].Text.ES == ""), "check %s: some of its steps are in Spanish, some are not", k.ID)
			for _, id := range s.Cautions {
				_, ok := c.Caution(id)
				miss(ok, "check %s: no caution %q", k.ID, id)
				cautions++
			}
		}
		miss(safety == nil || safety.Rank < 2 || cautions > 0, "check %s: class %s and no caution", k.ID, k.Safety)
	}
	for _, s := range c.Setups {
		for _, id := range s.Excludes {
			_, ok := c.Setup(id)
			miss(ok, "set-up state %s: no state %q", s.ID, id)
		}
		for _, id := range s.Cautions {
			_, ok := c.Caution(id)
			miss(ok, "set-up state %s: no caution %q", s.ID, id)
		}
	}
	return errors.Join(errs...)
}
