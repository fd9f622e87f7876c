package diagnosis_test

import (
	"fmt"
	"log"

	"rung/internal/cycle"
	"rung/internal/diagnosis"
	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/plant"
)

// The outdoor fan runs, the compressor hums and stops: two words, and the
// next check follows from the model of this system on this day.
func ExampleOpen() {
	faults, err := fault.Load()
	if err != nil {
		log.Fatal(err)
	}
	checks, err := fieldtest.Load()
	if err != nil {
		log.Fatal(err)
	}
	p, err := plant.Build(plant.Nameplate{Refrigerant: "R-410A", NominalCooling: 10551, SEER: 4.1, Metering: cycle.TXV})
	if err != nil {
		log.Fatal(err)
	}
	system, err := diagnosis.Open(diagnosis.Situation{
		Plant: p, Faults: faults, Checks: checks, Complaint: "not-cooling",
		At:           plant.Surroundings{Outdoor: 308.15, ReturnDryBulb: 298.7, ReturnWetBulb: 291.5, Line: 240},
		OutdoorKnown: true, WetBulbKnown: true,
	}, diagnosis.DefaultSettings())
	if err != nil {
		log.Fatal(err)
	}

	look := func(point, word string, seq int) diagnosis.Reading {
		_, pt, _ := checks.Point("look-listen", point)
		i, _ := pt.Word(word)
		return diagnosis.Reading{
			Ref: diagnosis.Ref{Check: "look-listen", Point: point, Demand: diagnosis.Cool}, Outcome: diagnosis.Word(i), Seq: seq,
		}
	}
	advice, err := system.Advise(diagnosis.Case{
		Person:   diagnosis.Person{Role: diagnosis.Mechanic, Refrigerant: true},
		Setup:    []string{"outdoor-running", "indoor-running"},
		Readings: []diagnosis.Reading{look("outdoor-fan", "running", 1), look("compressor", "hums-then-stops", 2)},
	})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(advice.Causes[0].ID)
	fmt.Println(advice.Verdict, advice.Next[0].Check)
	fmt.Println("charge judged:", advice.Charge.Open)
	// Output:
	// herm-cap-open
	// check cap-bench
	// charge judged: false
}
