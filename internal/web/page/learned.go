package page

// LearnedPage shows what the shop's closed calls do to the odds with which a
// visit begins.
type LearnedPage struct {
	Shell
	Kind   Field // the kind of system, to choose another
	How    []string
	State  string // what is waiting, or set aside
	Sides  []LearnedSide
	Topics []LearnedTopic
	Aside  FormPage       // sets learning aside
	Agains []LearnedAside // what was set aside, to take that back
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

// LearnedTopic is what is learned of one thing beside the causes.
type LearnedTopic struct {
	Heading string
	Intro   string
	State   string // set aside, or switched off; empty if neither
	Lines   []TopicLine
}

// TopicLine is one number: what the program begins with, what counts now, on what
// of the shop's own that rests and how much that weighs.
type TopicLine struct{ Of, Begin, Now, Count, Weight string }

// LearnedAside is something set aside, and the way back.
type LearnedAside struct {
	Text  string
	Undo  Undo
	Again string // what its button says
}
