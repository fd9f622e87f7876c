package page

// Dispute is a thing on which entries of two people differ, and the form that
// settles it.
type Dispute struct {
	Heading string // "Two entries differ: rated load amps"
	Intro   string // what counts meanwhile
	Action  string
	Hidden  []Hidden
	Stands  Field // which one is right
	Why     Field
}
