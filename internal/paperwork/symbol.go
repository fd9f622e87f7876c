package paperwork

import (
	"fmt"
	"strings"

	"rsc.io/qr/coding"
)

// CodeLimit is the greatest length of a code in bytes: what a symbol of 85 × 85
// modules holds at medium error correction.
//
// published: ISO/IEC 18004, data capacity of version 17-M, 504 bytes (as
// tabulated in public copies; the standard itself not seen), of which two go to
// the mark of UTF-8. practice: at
// 0.4 mm a module the symbol is about 37 mm wide, which a phone reads at half
// an arm's length; smaller modules are lost in dust.
const CodeLimit = 502

// quiet is the white margin around a symbol, in modules.
//
// published: ISO/IEC 18004, quiet zone of 4 modules (from public copies).
const quiet = 4

// Symbol is a QR symbol.
type Symbol struct {
	code *coding.Code
	text string
}

// Symbol makes the symbol of the note, shortened to CodeLimit.
func (n Note) Symbol() (Symbol, error) {
	short, err := n.Short(CodeLimit)
	if err != nil {
		return Symbol{}, err
	}
	text := short.Text()
	code, err := encode(utf8Follows{}, coding.String(text))
	if err != nil {
		return Symbol{}, fmt.Errorf("paperwork: make symbol: %w", err)
	}
	return Symbol{code, text}, nil
}

// SymbolOf makes the symbol of any text, such as an address.
func SymbolOf(text string) (Symbol, error) {
	code, err := encode(utf8Follows{}, coding.String(text))
	if err != nil {
		return Symbol{}, fmt.Errorf("paperwork: make symbol: %w", err)
	}
	return Symbol{code, text}, nil
}

// utf8Follows is the mark that the bytes after it are UTF-8. Without it a reader
// has to guess, and takes "45 µF" for letters of another country.
//
// published: ISO/IEC 18004, extended channel interpretation: mode 0111 in four
// bits, then designator 000026, UTF-8, in eight (from public copies).
type utf8Follows struct{}

func (utf8Follows) Check() error            { return nil }
func (utf8Follows) Bits(coding.Version) int { return 12 }

func (utf8Follows) Encode(b *coding.Bits, _ coding.Version) {
	b.Write(0b0111, 4)
	b.Write(26, 8)
}

// CapitalsSymbol makes the symbol of a text of capitals, digits, blanks and
// $%*+-./: alone, which takes less room than other text; it is told apart by
// nobody who reads it.
func CapitalsSymbol(text string) (Symbol, error) {
	if err := coding.Alpha(text).Check(); err != nil {
		return Symbol{}, fmt.Errorf("paperwork: make symbol: %w", err)
	}
	code, err := encode(coding.Alpha(text))
	if err != nil {
		return Symbol{}, fmt.Errorf("paperwork: make symbol: %w", err)
	}
	return Symbol{code, text}, nil
}

// encode makes the smallest symbol that holds the parts at medium error
// correction.
func encode(parts ...coding.Encoding) (*coding.Code, error) {
	version := coding.Version(coding.MinVersion)
	for ; bits(parts, version) > version.DataBytes(coding.M)*8; version++ {
		if version == coding.MaxVersion {
			return nil, fmt.Errorf("%d bits are too many", bits(parts, version))
		}
	}
	plan, err := coding.NewPlan(version, coding.M, 0)
	if err != nil {
		return nil, err
	}
	return plan.Encode(parts...)
}

func bits(parts []coding.Encoding, version coding.Version) int {
	sum := 0
	for _, p := range parts {
		sum += p.Bits(version)
	}
	return sum
}

// Text is what the symbol holds.
func (s Symbol) Text() string { return s.text }

// Size is the width of the symbol with its margin, in modules.
func (s Symbol) Size() int { return s.code.Size + 2*quiet }

// Black says whether the module at column x, row y is black; the margin counts.
func (s Symbol) Black(x, y int) bool { return s.code.Black(x-quiet, y-quiet) }

// runs calls draw for every run of black modules of a row.
func (s Symbol) runs(draw func(x, y, length int)) {
	for y := range s.Size() {
		for x := 0; x < s.Size(); x++ {
			start := x
			for x < s.Size() && s.Black(x, y) {
				x++
			}
			if x > start {
				draw(start, y, x-start)
			}
		}
	}
}

// SVG draws the symbol, black on white whatever the page looks like.
func (s Symbol) SVG(label string) string {
	var path strings.Builder
	s.runs(func(x, y, length int) { fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", x, y, length, length) })
	return fmt.Sprintf(`<svg class="qr" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" role="img" aria-label="%s" shape-rendering="crispEdges"><path fill="#fff" d="M0 0h%dv%dh-%dz"/><path fill="#000" d="%s"/></svg>`,
		s.Size(), s.Size(), attribute(label), s.Size(), s.Size(), s.Size(), path.String())
}

func attribute(s string) string {
	return strings.NewReplacer("&", "&amp;", `"`, "&quot;", "<", "&lt;").Replace(s)
}
