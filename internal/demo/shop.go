package demo

import (
	"rung/internal/record"
	"rung/internal/visit"
)

type house struct {
	property visit.PropertyInput
	systems  []system
}

type system struct {
	about visit.SystemInput
	units []unit
	links []visit.LinkInput // of its chain, as found
	calls []call
}

type unit struct {
	about visit.UnitInput
	plate map[string]string
}

type call struct {
	open     visit.OpenInput
	air      map[string]string
	readings []visit.ReadingsInput
	outcome  string // empty leaves the visit open
	note     string
}

var mechanic = record.Person{Name: "Sample Mechanic", Role: "mechanic", Refrigerant: true}

// shop is everything in the demo.
var shop = []house{
	{
		property: visit.PropertyInput{Name: "Mill Road house", Address: "14 Mill Road", Contact: "555-0111", Access: "Side gate, latch on the inside. Attic ladder in the hall.", Elevation: "250 ft"},
		systems: []system{
			{
				about: visit.SystemInput{Number: "1", Name: "downstairs"},
				units: []unit{
					{visit.UnitInput{Kind: "outdoor-unit", Place: "north side, left"}, map[string]string{
						"refrigerant": "R-22", "nominal-cooling": "2.5 ton", "seer": "10", "metering": "fixed-orifice",
						"herm-capacitance": "40 uF", "fan-capacitance": "5 uF", "capacitor-voltage": "440 V",
					}},
					{visit.UnitInput{Kind: "furnace", Place: "basement"}, nil},
					{visit.UnitInput{Kind: "thermostat", Place: "hall"}, nil},
				},
			},
			{
				about: visit.SystemInput{Number: "2", Name: "upstairs"},
				units: []unit{
					{visit.UnitInput{Kind: "outdoor-unit", Place: "north side, right"}, map[string]string{
						"refrigerant": "R-410A", "nominal-cooling": "3 ton", "seer": "14", "metering": "txv", "target-subcooling": "10 °F",
						"factory-charge": "98 oz", "herm-capacitance": "45 uF", "fan-capacitance": "5 uF", "capacitor-voltage": "440 V",
						"rated-load-amps": "16.7", "locked-rotor-amps": "79", "fan-amps": "1.4",
					}},
					{visit.UnitInput{Kind: "air-handler", Place: "attic, over the stairs"}, nil},
					{visit.UnitInput{Kind: "thermostat", Place: "upstairs hall"}, nil},
				},
				calls: []call{
					{
						open: visit.OpenInput{Words: "just want it checked before summer", Complaint: "maintenance", Who: mechanic},
						air:  map[string]string{"outdoor-dry-bulb": "84 °F", "return-dry-bulb": "76 °F", "return-wet-bulb": "64 °F", "line-voltage": "241 V"},
						readings: []visit.ReadingsInput{
							{Check: "cap-under-load", Demand: "cool", Points: []visit.PointInput{{Point: "herm", Text: "42.8"}, {Point: "fan", Text: "4.9"}}},
							{Check: "gauge-pressures", Demand: "cool", Points: []visit.PointInput{{Point: "suction", Text: "127"}, {Point: "liquid", Text: "338"}}},
						},
						outcome: "no-fault-found", note: "Spring check. Compressor section of the capacitor at the low end of its mark.",
					},
					{
						open: visit.OpenInput{Words: "upstairs stays warm since yesterday, the outside fan runs", Complaint: "not-cooling", Who: mechanic},
						air:  map[string]string{"outdoor-dry-bulb": "95 °F", "return-dry-bulb": "81 °F", "return-wet-bulb": "67 °F", "line-voltage": "239 V"},
					},
				},
			},
		},
	},
	{
		property: visit.PropertyInput{Name: "Orchard Hill", Address: "1 Orchard Hill", Contact: "555-0133", Access: "Gate code from the office. Panel in the garage, its labels are old.", Elevation: "400 ft"},
		systems: []system{
			{
				about: visit.SystemInput{Number: "1", Name: "main floor"},
				units: twin("great room", "basement, by the stairs", "north court, left"),
				links: []visit.LinkInput{
					{Link: record.LinkIndoorUnit, Place: "basement, by the stairs", How: "call-started"},
					{Link: record.LinkOutdoorUnit, Place: "north court, left", How: "call-started"},
					{Link: record.LinkDisconnect, Place: "A", How: "pulled-stopped"},
					{Link: record.LinkBreaker, Place: "10-12", How: record.ByLabel},
					{Link: record.LinkBreaker, Place: "14-16", How: "breaker-dead"},
				},
			},
			{
				about: visit.SystemInput{Number: "2", Name: "bedrooms east"},
				units: twin("east hall", "attic, east end", "north court, middle"),
				links: []visit.LinkInput{
					{Link: record.LinkIndoorUnit, Place: "attic, east end", How: "call-started"},
					{Link: record.LinkOutdoorUnit, Place: "north court, right", How: "call-started"},
					{Link: record.LinkDisconnect, Place: "C", How: "pulled-stopped"},
					{Link: record.LinkBreaker, Place: "18-20", How: record.ByLabel},
				},
			},
			{
				about: visit.SystemInput{Number: "3", Name: "bedrooms west"},
				units: twin("west hall", "attic, west end", "north court, right"),
				links: []visit.LinkInput{
					{Link: record.LinkIndoorUnit, Place: "attic, west end", How: "call-started"},
					{Link: record.LinkOutdoorUnit, Place: "north court, middle", How: "call-started"},
					{Link: record.LinkDisconnect, Place: "B", How: "pulled-stopped"},
					{Link: record.LinkBreaker, Place: "22-24", How: record.ByLabel},
				},
			},
			{
				about: visit.SystemInput{Number: "4", Name: "guest wing"},
				units: twin("guest hall", "closet off the kitchen", "behind the garage"),
				links: []visit.LinkInput{{Link: record.LinkBreaker, Place: "26-28", How: record.ByLabel}},
			},
		},
	},
	{
		property: visit.PropertyInput{Name: "Harbor Street 3", Address: "3 Harbor Street", Contact: "555-0122", Access: "Tenant at home after four."},
		systems: []system{{
			about: visit.SystemInput{Number: "1", Name: "whole house"},
			units: []unit{
				{visit.UnitInput{Kind: "outdoor-unit", Place: "flat roof"}, map[string]string{"refrigerant": "R-410A", "nominal-cooling": "2 ton"}},
				{visit.UnitInput{Kind: "air-handler", Place: "closet"}, nil},
			},
		}},
	},
	{property: visit.PropertyInput{Name: "Ford Lane 7", Address: "7 Ford Lane", Contact: "the caretaker", Access: "Boiler room below the porch, low beam"},
		systems: []system{
			{about: visit.SystemInput{Number: "1", Name: "house", Kind: "gas-furnace-with-air-conditioner", Areas: "all rooms"},
				units: []unit{
					{about: visit.UnitInput{Kind: "furnace", Place: "basement"}, plate: map[string]string{"gas-input": "80000 Btu/h", "manifold-pressure": "3.5 in. w.c."}},
					{about: visit.UnitInput{Kind: "outdoor-unit", Place: "behind the house"}, plate: map[string]string{"refrigerant": "R-410A", "nominal-cooling": "3 ton", "seer": "14", "metering": "txv"}},
					{about: visit.UnitInput{Kind: "thermostat", Place: "hall"}},
				},
				calls: []call{{
					open: visit.OpenInput{Words: "it starts, then nothing", Complaint: "not-heating", Who: record.Person{Name: "Sample Mechanic", Role: "mechanic", Refrigerant: true, Gas: true}},
					air:  map[string]string{"outdoor-dry-bulb": "24 °F"},
				}},
			},
			{about: visit.SystemInput{Number: "2", Name: "annex", Kind: "boiler-zone-valves", Areas: "three zones"},
				units: []unit{{about: visit.UnitInput{Kind: "boiler", Place: "boiler room"}}},
			},
		}},
}

// twin returns the three units of a system of a house with several alike.
func twin(thermostat, indoor, outdoor string) []unit {
	return []unit{
		{visit.UnitInput{Kind: "outdoor-unit", Place: outdoor}, map[string]string{"refrigerant": "R-410A", "nominal-cooling": "3 ton"}},
		{visit.UnitInput{Kind: "air-handler", Place: indoor}, nil},
		{visit.UnitInput{Kind: "thermostat", Place: thermostat}, nil},
	}
}
