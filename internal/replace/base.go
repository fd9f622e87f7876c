package replace

import "slices"

// Link is how Rc and Rh of a base are joined.
type Link string

// The links; empty: the base has a single R.
const (
	NoLink        Link = "none"      // apart; a wire may join them
	RemovableLink Link = "removable" // a jumper, a clip, or a setting
	FixedLink     Link = "fixed"     // joined inside for good
)

// Supply is how the electronics of a base live.
type Supply string

// The supplies.
const (
	NoSupply     Supply = "none" // mechanical, or batteries only
	NeedsCommon  Supply = "common"
	OrBattery    Supply = "common-or-battery"
	OrThroughOff Supply = "common-or-through-load" // made to live through a load that is off
)

// Base is a thermostat, as far as its terminals go.
type Base struct {
	Name      string
	Control   Control // empty: 24 V
	Terminals []Terminal
	Link      Link
	// LinkIn: the link was found in, of an old base.
	LinkIn bool
	// Conventional and HeatPump are the modes that it can be set to.
	Conventional, HeatPump bool
	DualFuel               bool // can lock the heat pump out while a furnace heats
	FanWithHeat            bool // can be set to call the fan with heat
	Supply                 Supply
	SupplyFrom             Role // the power terminal from which the electronics live, where there are two
	Adapter                bool // the maker supplies a board adapter that carries Y and G on one conductor
	// Jumpers are wires found between terminals of an old base, such as E to W2.
	Jumpers [][2]string
}

// Settings are what is set on a base.
type Settings struct {
	HeatPump     bool
	ValveInHeat  bool // the reversing terminal is energised in heating
	FanWithHeat  bool
	BackupFossil bool
}

// settingsFor are the settings that suit a system.
func settingsFor(s System) Settings {
	return Settings{s.HeatPump, s.ValveInHeat, s.FanWithHeat, s.BackupFossil}
}

// with returns the first terminal with a role.
func (b *Base) with(r Role) (Terminal, bool) {
	for _, t := range b.Terminals {
		if t.Has(r) {
			return t, true
		}
	}
	return Terminal{}, false
}

func (b *Base) marked(mark string) bool {
	return slices.ContainsFunc(b.Terminals, func(t Terminal) bool { return t.Mark == mark })
}

func (b *Base) check(which string) error {
	seen := map[string]bool{}
	for _, t := range b.Terminals {
		if t.Mark == "" || seen[t.Mark] {
			return &InputError{which, "terminal " + t.Mark + " told twice"}
		}
		seen[t.Mark] = true
	}
	return nil
}

// power returns the terminal that feeds heating or cooling.
func (b *Base) power(heat bool) (Terminal, bool) {
	roles := []Role{PowerCool, Power, PowerHeat}
	if heat {
		roles = []Role{PowerHeat, Power, PowerCool}
	}
	for _, r := range roles {
		if t, ok := b.with(r); ok {
			return t, true
		}
	}
	return Terminal{}, false
}

// twoPowers says whether cooling and heating are fed apart.
func (b *Base) twoPowers() bool {
	c, okC := b.power(false)
	h, okH := b.power(true)
	return okC && okH && c.Mark != h.Mark
}

// backup returns the terminal that calls auxiliary heat in the mode for heat
// pumps: the one marked for it, else the only heat terminal. Of two heat
// terminals makers take now the one, now the other, so there is no answer.
func (b *Base) backup() (Terminal, bool) {
	if t, ok := b.with(Backup); ok {
		return t, true
	}
	first, hasFirst := b.with(Heat1)
	second, hasSecond := b.with(Heat2)
	switch {
	case hasFirst && hasSecond:
		return Terminal{}, false
	case hasSecond:
		return second, true
	}
	return first, hasFirst
}

func (b *Base) hasHeat() bool {
	_, ok := b.with(Heat1)
	return ok
}

// closes returns the terminals that a call joins to the power of cooling and to
// that of heating.
func (b *Base) closes(set Settings, c Call) (cooling, heating []Terminal) {
	add := func(to *[]Terminal, roles ...Role) {
		for _, t := range b.Terminals {
			if slices.ContainsFunc(roles, t.Has) && !slices.ContainsFunc(*to, func(x Terminal) bool { return x.Mark == t.Mark }) {
				*to = append(*to, t)
			}
		}
	}
	if set.HeatPump {
		b.closesHeatPump(set, c, &cooling, &heating, add)
		return cooling, heating
	}
	switch c {
	case FanOnly:
		add(&cooling, Fan)
	case CoolLow:
		add(&cooling, Cool1, Fan, ReverseCool)
	case CoolHigh:
		add(&cooling, Cool1, Cool2, Fan, ReverseCool)
	case HeatLow, HeatHigh:
		add(&heating, Heat1)
		add(&cooling, ReverseHeat)
		if c == HeatHigh {
			add(&heating, Heat2)
		}
		if set.FanWithHeat {
			add(&cooling, Fan)
		}
	case Moisten:
		add(&heating, Humidify)
	}
	return cooling, heating
}

func (b *Base) closesHeatPump(set Settings, c Call, cooling, heating *[]Terminal, add func(*[]Terminal, ...Role)) {
	reverse := func(heat bool) {
		if heat {
			add(cooling, ReverseHeat)
		} else {
			add(cooling, ReverseCool)
		}
		if heat == set.ValveInHeat {
			add(cooling, ReverseSet)
		}
	}
	backup := func() {
		if t, ok := b.backup(); ok {
			*heating = append(*heating, t)
		}
	}
	switch c {
	case FanOnly:
		add(cooling, Fan)
	case CoolLow, CoolHigh:
		add(cooling, Cool1, Fan)
		reverse(false)
		if c == CoolHigh {
			add(cooling, Cool2)
		}
	case HeatLow, HeatHigh:
		add(cooling, Cool1, Fan)
		reverse(true)
		if c == HeatHigh {
			add(cooling, Cool2)
		}
	case HeatBackup:
		reverse(true)
		backup()
		if !set.BackupFossil {
			add(cooling, Cool1, Cool2, Fan)
		}
	case HeatEmergency:
		reverse(true)
		backup()
		add(heating, Emergency)
		if !set.BackupFossil {
			add(cooling, Fan)
		}
	case Moisten:
		add(heating, Humidify)
	}
}
