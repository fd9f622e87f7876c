package calc

import (
	"slices"
	"strings"

	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

// Read turns typed texts into values: what is typed for a quantity carries its
// unit, "118 psig". An empty text is a field not given. Every field that cannot
// be used has its own *Error; then there are no values.
func (c Calculator) Read(typed func(field string) string) (Values, []*Error) {
	in := Values{}
	var wrong []*Error
	for _, site := range []bool{true, false} {
		for _, f := range c.Fields {
			if slices.Contains(siteFields, f.Name) != site {
				continue
			}
			text := strings.TrimSpace(typed(f.Name))
			switch {
			case text != "":
				x, err := f.read(text, Ambient(in))
				if err != nil {
					wrong = append(wrong, asError(err))
					continue
				}
				in[f.Name] = x
			case !f.Optional:
				wrong = append(wrong, invalid(f.Name, "missing"))
			}
		}
	}
	if len(wrong) > 0 {
		return nil, wrong
	}
	return in, nil
}

// read reads one field from text.
func (f Field) read(text string, ambient quantity.Pressure) (any, error) {
	switch {
	case f.Bool:
		switch text {
		case "true", "yes":
			return true, nil
		case "false", "no":
			return false, nil
		}
		return nil, invalid(f.Name, "want yes or no, not %q", text)
	case f.Dim == quantity.DimNone:
		return f.word(text)
	case f.List:
		return f.readList(text, ambient)
	}
	return f.amount(text, ambient)
}

// readList reads amounts parted by commas; one without a unit has that of the
// last: "1.4, 0.5 A".
func (f Field) readList(text string, ambient quantity.Pressure) (any, error) {
	parts := strings.Split(text, ",")
	last, err := tradeunit.Parse(parts[len(parts)-1], f.Dim, "")
	if err != nil {
		return nil, invalid(f.Name, "%v", err)
	}
	list := []float64{}
	for _, part := range parts {
		a, err := tradeunit.Parse(part, f.Dim, last.Unit.Symbol)
		if err != nil {
			return nil, invalid(f.Name, "%v", err)
		}
		x, err := f.inRange(a.SI(ambient), strings.TrimSpace(part))
		if err != nil {
			return nil, err
		}
		list = append(list, x.(float64))
	}
	return list, nil
}
