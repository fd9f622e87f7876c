package visit

import "rung/internal/diagnosis"

// foresighted is a Reasoner that can work ahead: each call of what it returns does
// a little of what later answers need, changes none of them, and reports
// whether there may be more.
type foresighted interface {
	Ahead(diagnosis.Case, diagnosis.Advice) func() bool
}

// ahead hands to Config.Ahead what may be done until somebody asks about the
// situation again.
func (e *engines) ahead(s *side, a diagnosis.Advice, begin func(step func() bool)) {
	f, can := s.reasoner.(foresighted)
	if begin == nil || !can || s.blind != nil {
		return
	}
	turn := e.turn(s.situation)
	var more func() bool
	begin(func() bool {
		if !e.stands(s.situation, turn) {
			return false
		}
		if more == nil {
			more = f.Ahead(s.c, a)
		}
		return more()
	})
}

// turn counts one more question about a situation.
func (e *engines) turn(s Situation) int {
	e.mu.Lock()
	defer e.mu.Unlock()
	if _, known := e.turns[s]; !known && len(e.turns) >= mostReasoners {
		clear(e.turns)
	}
	e.turns[s]++
	return e.turns[s]
}

// stands says whether nobody has asked about a situation since.
func (e *engines) stands(s Situation, turn int) bool {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.turns[s] == turn
}
