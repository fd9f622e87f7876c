package visit

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"sync"

	"rung/internal/diagnosis"
	"rung/internal/fieldtest"
	"rung/internal/plant"
	"rung/internal/record"
	"rung/internal/system"
)

// Reasoner gives advice about one system on one day. A *diagnosis.System is
// one. It must be safe for several goroutines.
type Reasoner interface {
	Advise(diagnosis.Case) (diagnosis.Advice, error)
	// Card returns what a point should show, healthy first, then under the
	// leading causes.
	Card(diagnosis.Case, diagnosis.Ref) ([]diagnosis.Expectation, error)
}

// Situation is what a Reasoner is made for.
type Situation struct {
	// Wiring is the id of a described system; empty for the plant.
	Wiring       string
	Heating      bool            // nothing is read at a cooling call
	House        string          // what plates change of it, as edits; see houseOf
	Plate        plant.Nameplate // of the plant, as known; unknown fields are zero
	Surroundings plant.Surroundings
	// OutdoorKnown and WetBulbKnown say that these were recorded, not assumed.
	OutdoorKnown, WetBulbKnown bool
	Complaint                  string
	// Experience is a diagnosis.Experience in JSON; empty for none.
	Experience string
}

// engines makes reasoners and keeps the last few, and the last advice given:
// what they hold follows from the journal, so forgetting changes only the time
// an answer takes.
type engines struct {
	open func(Situation) (Reasoner, error)

	mu     sync.Mutex
	plants map[plant.Nameplate]*plant.Plant
	wired  map[[2]string]*fieldtest.Wired // by kind and house
	made   map[Situation]Reasoner
	advice map[[sha256.Size]byte]diagnosis.Advice
	turns  map[Situation]int // questions asked, see ahead
}

// Numbers of what is kept. practice: a shop of fifty mechanics has that many
// visits open; a reasoner holds some megabytes, an advice some kilobytes.
const (
	mostReasoners = 8
	mostAdvice    = 256
	mostWired     = 64
)

func newEngines(open func(Situation) (Reasoner, error)) *engines {
	return &engines{open: open, plants: map[plant.Nameplate]*plant.Plant{}, wired: map[[2]string]*fieldtest.Wired{}, made: map[Situation]Reasoner{},
		turns: map[Situation]int{}, advice: map[[sha256.Size]byte]diagnosis.Advice{}}
}

// plant returns the plant of a nameplate.
func (e *engines) plant(n plant.Nameplate) (*plant.Plant, error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if p, made := e.plants[n]; made {
		return p, nil
	}
	p, err := plant.Build(n)
	if err != nil {
		return nil, err
	}
	if len(e.plants) >= mostReasoners {
		clear(e.plants)
	}
	e.plants[n] = p
	return p, nil
}

// on returns the catalogue of checks on a kind of system in a house.
func (e *engines) on(checks *fieldtest.Catalogue, kind, house string) (*fieldtest.Wired, error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	key := [2]string{kind, house}
	if w, made := e.wired[key]; made {
		return w, nil
	}
	d, err := describe(kind, house)
	if err != nil {
		return nil, err
	}
	w, err := checks.On(d)
	if err != nil {
		return nil, err
	}
	if len(e.wired) >= mostWired {
		clear(e.wired)
	}
	e.wired[key] = w
	return w, nil
}

// reasoner returns the reasoner for a situation. Two who ask for one at once
// may both make it; they are alike.
func (e *engines) reasoner(s Situation) (Reasoner, error) {
	e.mu.Lock()
	r, made := e.made[s]
	e.mu.Unlock()
	if made {
		return r, nil
	}
	r, err := e.open(s)
	if err != nil {
		return nil, err
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	if len(e.made) >= mostReasoners {
		clear(e.made)
	}
	e.made[s] = r
	return r, nil
}

// advise returns the advice for a case in a situation.
func (e *engines) advise(s Situation, r Reasoner, c diagnosis.Case) (diagnosis.Advice, error) {
	key := sha256.Sum256(fmt.Appendf(nil, "%#v %#v", s, c))
	e.mu.Lock()
	a, known := e.advice[key]
	e.mu.Unlock()
	if known {
		return a, nil
	}
	a, err := r.Advise(c)
	if err != nil {
		return a, err
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	if len(e.advice) >= mostAdvice {
		clear(e.advice)
	}
	e.advice[key] = a
	return a, nil
}

// open makes the reasoner of a real system.
func (s *Service) open(x Situation) (Reasoner, error) {
	var experience diagnosis.Experience
	if x.Experience != "" {
		if err := json.Unmarshal([]byte(x.Experience), &experience); err != nil {
			return nil, err
		}
	}
	if x.Wiring != "" {
		d, err := describe(x.Wiring, x.House)
		if err != nil {
			return nil, err
		}
		return diagnosis.OpenWired(diagnosis.Wired{System: d, Faults: s.faults(), Checks: s.checks(), Complaint: x.Complaint, Heating: x.Heating, Experience: experience}, diagnosis.DefaultSettings())
	}
	p, err := s.engines.plant(x.Plate)
	if err != nil {
		return nil, err
	}
	return diagnosis.Open(diagnosis.Situation{
		Plant: p, Faults: s.faults(), Checks: s.checks(), At: x.Surroundings,
		OutdoorKnown: x.OutdoorKnown, WetBulbKnown: x.WetBulbKnown, Complaint: x.Complaint, Experience: experience, Pause: s.pause,
	}, diagnosis.DefaultSettings())
}

// Model is the physical model of the system of a visit, for drawings.
type Model struct {
	// Wiring is the described system as it stands in this house, nil if there is
	// none; FromWiring says that the visit is reasoned from it.
	Wiring       *system.Description
	FromWiring   bool
	Plant        *plant.Plant // nil if nothing of the system cools
	Surroundings plant.Surroundings
	Taken        []string // what was assumed of the surroundings, in words
}

// Model returns the models of the system of a visit, in the surroundings of the
// visit.
func (s *Service) Model(ctx context.Context, visit record.VisitID) (Model, error) {
	_, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return Model{}, err
	}
	d := s.lay(here, English)
	m := Model{Surroundings: d.situation.Surroundings, Taken: d.taken}
	cooling := d.side
	for _, x := range []*side{d.side, d.other} {
		switch {
		case x == nil:
		case x.wired != nil:
			m.Wiring, m.FromWiring = x.wired.System, x == d.side
		default:
			cooling = x
		}
	}
	if cooling.wired != nil {
		return m, nil
	}
	if err := d.possible(); err != nil {
		return Model{}, err
	}
	m.Plant, err = s.engines.plant(cooling.situation.Plate)
	return m, err
}
