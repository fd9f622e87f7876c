package paperwork

// ChainLabel is the label for one place of a system's chain: the thermostat, a
// unit, the disconnect or the breaker. It names the whole chain, so that each
// place tells where the others are.
type ChainLabel struct {
	System   string    // "2 upstairs"
	Here     string    // where it is put: "Disconnect: A"
	Chain    []Reading // the links by name, with a doubt where one is not proved
	Day      string    // 2026-07-14
	By       string    // who, and where to reach them
	Property string
}

// Foot is the last line of the label.
func (l ChainLabel) Foot() string { return l.Property + " · " + l.Day + " · " + l.By }
