package page

import "strconv"

// HandOverPage is where entries go from this journal to another one, and come
// back.
type HandOverPage struct {
	Shell
	Status  string // "3 entries not handed over, oldest 3 h, last exchange 10:42"; empty at the office
	Problem string
	// Photos says how photos stand, PhotoProblem what keeps them; both may be empty.
	Photos, PhotoProblem string
	GiveNote             string // what a file holds of photos
	// Enrolled says for whom this phone is enrolled; nil for its own master, and at
	// the office.
	Enrolled *Enrolled
	Flags    []string // what was flagged in an exchange, and not seen yet
	Seen     Undo     // says that it is seen
	Run      *Undo    // asks the office now; nil where it cannot be asked from here
	Give     []Link   // files to save
	Codes    Link     // to the codes; empty with NoCodes
	NoCodes  string   // why there are none
	Wrong    string   // what is wrong with what was to be taken in
	Taken    []string // what was taken in
	Houses   []Link   // where it belongs
	Texts    Field
}

// FindPage asks the office for a property that is not on this phone.
type FindPage struct {
	Shell
	Find  string
	Wrong string
	Asked bool
	Found []Found
}

// Found is a property of the office.
type Found struct {
	Name string
	Note string
	Href string // where it is here already; else Bring brings it
	Form Undo
}

// CodePage shows one code of several.
type CodePage struct {
	Shell
	SVG        string
	Number, Of int
	Next, Prev Link
	Text       string // of the code, to be copied
	Wrong      string
}

// Count says which code it is.
func (p CodePage) Count() string {
	return "Code " + strconv.Itoa(p.Number) + " of " + strconv.Itoa(p.Of)
}
