package page

// OfficePage is the way to what belongs to the shop and not to a call.
type OfficePage struct {
	Shell
	Who     string // is signed in; empty where nobody needs to be
	Lists   []LinkList
	SignOut *Undo // nil where nobody is signed in
}

// PhonesPage lists the phones of the shop and makes codes for new ones.
type PhonesPage struct {
	Shell
	Wrong  string
	Code   *PhoneCode // just made; shown once
	Phones []PhoneLine
	People []Choice // for whom a code can be made
	Action string
	Hidden []Hidden
}

// PhoneCode is a code with which one phone can be enrolled.
type PhoneCode struct {
	Who     string
	Until   string
	Address string
	Symbol  string // SVG
}

// PhoneLine is one phone.
type PhoneLine struct {
	Label   string
	Who     string
	Since   string
	Knows   string // what it was told, where that is not how its person stands now
	Revoked string // when; empty for a phone in use
	Revoke  *Undo
}

// TrustPage hands out the root of the shop's own authority.
type TrustPage struct {
	Shell
	Name        string // of the server
	Root        string // address of the file
	Fingerprint string // SHA-256, in groups
	Symbol      string // SVG of the address of this page
	Address     string
	Platforms   []TrustSteps
}

// TrustSteps says how a platform is told to trust the root.
type TrustSteps struct {
	Platform string
	Steps    []string
}

// HeldPage lists the entries kept aside.
type HeldPage struct {
	Shell
	Wrong  []string // what could not be taken in
	Groups []HeldGroup
	// Passed lists what came in by another phone than the one it was written on,
	// which has not brought it itself.
	Passed []Fact
}

// HeldGroup is what one device brought that may not come in for one reason.
type HeldGroup struct {
	Who, On, Why string // whose device, "on the phone …", and the reason in a sentence
	Left         bool   // it was left out
	Entries      []Fact
	Last         string // id of the last of them
	Action       string
	Hidden       []Hidden
}

// Heading says how much it is and who brought it.
func (g HeldGroup) Heading() string {
	return count(len(g.Entries), "entry", "entries") + " brought by " + g.Who + " " + g.On
}
