package replace

import (
	"slices"
	"strings"
)

// Role is what a terminal of a thermostat is for, whatever is printed beside it.
type Role string

// The roles. Power comes in at r, or at rc and rh where cooling and heating are
// fed apart.
const (
	Power       Role = "r"
	PowerCool   Role = "rc"
	PowerHeat   Role = "rh"
	Common      Role = "c"
	Cool1       Role = "y1"
	Cool2       Role = "y2"
	Heat1       Role = "w1"
	Heat2       Role = "w2"
	Backup      Role = "aux"
	Emergency   Role = "e"
	Fan         Role = "g"
	ReverseCool Role = "o"   // energised in cooling
	ReverseHeat Role = "b"   // energised in heating
	ReverseSet  Role = "o-b" // one or the other, by a setting
	Humidify    Role = "hum"
	FaultLamp   Role = "l" // comes from the equipment, feeds a lamp
)

// Terminal is a terminal of a base. A terminal may have another role in another
// mode, as one marked W2/AUX has.
type Terminal struct {
	Mark  string // as printed
	Roles []Role
}

// Has says whether the terminal has a role.
func (t Terminal) Has(r Role) bool { return slices.Contains(t.Roles, r) }

// roleWords gives the roles of letters that mean the same nearly everywhere.
//
// published: Herman and Sparkman, "Electricity and Controls for HVAC-R", chapter
// on thermostats, as extracted in public text. practice: HUM, AUX.
var roleWords = map[string]Role{
	"R": Power, "RC": PowerCool, "RH": PowerHeat, "C": Common,
	"Y": Cool1, "Y1": Cool1, "Y2": Cool2, "W": Heat1, "W1": Heat1, "W2": Heat2,
	"AUX": Backup, "G": Fan, "O": ReverseCool, "B": ReverseHeat, "E": Emergency,
	"HUM": Humidify, "H": Humidify, "L": FaultLamp,
}

// ParseTerminal reads what is printed at a terminal, such as "Y1" or "W2/AUX".
// A mark that no letter explains, such as X, has no role: it must be traced.
func ParseTerminal(mark string) Terminal {
	t := Terminal{Mark: strings.ToUpper(strings.TrimSpace(mark))}
	if t.Mark == "O/B" || t.Mark == "OB" || t.Mark == "B/O" {
		t.Roles = []Role{ReverseSet}
		return t
	}
	for _, part := range strings.Split(t.Mark, "/") {
		r, known := roleWords[part]
		if !known {
			return Terminal{Mark: t.Mark}
		}
		t.Roles = append(t.Roles, r)
	}
	return t
}

// ParseTerminals reads marks parted by blanks or commas.
func ParseTerminals(marks string) []Terminal {
	var list []Terminal
	for _, mark := range strings.FieldsFunc(marks, func(r rune) bool { return r == ' ' || r == ',' || r == '\n' || r == '\r' || r == '\t' }) {
		list = append(list, ParseTerminal(mark))
	}
	return list
}

// ambiguous are the letters that makers use in more than one way: B is the
// common of some old bases, X a common, an emergency relay or a fault lamp, E a
// relay or a jumper to auxiliary heat.
var ambiguous = map[string]bool{"B": true, "X": true, "E": true, "X1": true, "X2": true}

// Call is what the thermostat asks for.
type Call string

// The calls. High stages include the low ones.
const (
	Off           Call = "off"
	FanOnly       Call = "fan"
	CoolLow       Call = "cool"
	CoolHigh      Call = "cool-second-stage"
	HeatLow       Call = "heat"
	HeatHigh      Call = "heat-second-stage"
	HeatBackup    Call = "heat-auxiliary" // heat pump with auxiliary heat
	HeatEmergency Call = "heat-emergency" // heat pump locked out
	Moisten       Call = "humidify"
)

// Calls lists all calls in the order in which they are proved.
func Calls() []Call {
	return []Call{CoolLow, CoolHigh, HeatLow, HeatHigh, FanOnly, HeatBackup, HeatEmergency, Moisten, Off}
}

// Word is the id of the call among the words of the package.
func (c Call) Word() string { return "call-" + string(c) }

func callWord(c Call) Value { return word("call", c.Word()) }
