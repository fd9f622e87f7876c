package page

import (
	"context"
	"strconv"
)

// Around is what a page shows about the device it is on, whatever the page.
type Around struct {
	// Offered says that the server offers to work without signal.
	Offered bool
	// OnPhone says that the page was made in the phone itself.
	OnPhone bool
	Unsent  *Unsent // nil where entries need not be handed on
	// Said is what the office said about this phone and its person that every page
	// repeats: that it was revoked, that a role changed. Mostly empty.
	Said string
}

// Enrolled is how a phone stands with the office that it was enrolled at.
type Enrolled struct {
	Who, Role string
	Revoked   bool
	Facts     []Fact
	Changed   string // what the office changed last, and when; empty if nothing
}

// Unsent is what this device has not yet handed to the server.
type Unsent struct {
	Count     int
	Oldest    string // when the oldest was entered; empty if there is none
	Exchanged string // when entries were exchanged last; empty if never
}

// Words says how many entries wait.
func (u Unsent) Words(ctx context.Context) string {
	if u.Count == 0 {
		return Say(ctx, "Everything is handed to the server.")
	}
	return Count(ctx, u.Count, "entry is not yet handed to the server.", "entries are not yet handed to the server.")
}

// number is the count as the bar shows it.
func (u Unsent) number() string { return strconv.Itoa(u.Count) }

// note says in a few words how the phone stands.
func (a Around) note(ctx context.Context) string {
	switch {
	case a.Unsent != nil:
		return a.Unsent.Words(ctx)
	case a.OnPhone:
		return "how this phone stands, and who works on it"
	case a.Offered:
		return "set this phone up for basements and attics"
	}
	return "not built into this server"
}

type aroundKey struct{}

// WithAround returns a context under which pages show a.
func WithAround(ctx context.Context, a Around) context.Context {
	return context.WithValue(ctx, aroundKey{}, a)
}

// around is what WithAround put there.
func around(ctx context.Context) Around {
	a, _ := ctx.Value(aroundKey{}).(Around)
	return a
}

// PhonePage is about the phone itself: whether it works without signal, what it
// keeps, how it starts.
type PhonePage struct {
	Shell
	Around
	Facts []Fact // about this phone, as the program in it knows them
	// Enrolled is nil for a phone that is its own master.
	Enrolled  *Enrolled
	Worker    string // who works on it, as typed or known
	Wrong     string // what is the matter with that
	Languages *Languages
}
