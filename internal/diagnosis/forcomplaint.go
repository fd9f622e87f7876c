package diagnosis

import "fmt"

// For returns the system of the same plant on the same day with another
// complaint. The two share what was solved so far, for the complaint changes
// the priors only; they may be used by several goroutines, which wait for each other.
func (s *System) For(complaint string) (*System, error) {
	if _, known := s.w.sit.Faults.Complaint(complaint); complaint != "" && !known {
		return nil, fmt.Errorf("diagnosis: no complaint %q", complaint)
	}
	w := *s.w
	w.sit.Complaint, w.complaint = complaint, complaint
	w.hyps, w.faults, w.subs = nil, nil, nil
	w.addHypotheses(s.w.sit.Faults.Fits(s.w.sit.Plant.Has))
	w.addPairs()
	w.addSubsystems()
	e, err := NewEngine(&w, s.set)
	if err != nil {
		return nil, err
	}
	e.mu, e.cache = s.mu, s.cache
	return &System{Engine: e, w: &w, wider: &widerSystems{}}, nil
}
