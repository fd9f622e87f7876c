package page

// LearnedPage shows what the shop's closed calls do to the odds with which a
// visit begins.
type LearnedPage struct {
	Shell
	Kind   Field // the kind of system, to choose another
	How    []string
	State  string // what is waiting, or set aside
	Sides  []LearnedSide
	Aside  FormPage // sets learning aside
	Again  *Undo    // takes that back
	Wrong  string
	Share  Undo   // gives the counts to the phones
	Shared string // when that was last done
	Phone  string // why nothing of this is done here; empty at the office
}

// LearnedSide is what is reasoned over at once.
type LearnedSide struct {
	Heading string
	Intro   string
	Met     []LearnedLine // causes with closures
	Others  []LearnedLine
}

// LearnedLine is a cause with its share before and after.
type LearnedLine struct {
	Name, Origin, Base, Closures, Now string
}
