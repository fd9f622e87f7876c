package cycle

// Memo remembers solutions, for who solves the same circuit over and over
// while something else changes. What it returns is bit for bit what Solve
// would. It serves one goroutine.
type Memo struct {
	most  int
	known map[question]State
}

// question is everything that a solution depends on.
type question struct {
	machine   *Machine
	condition Condition
	fault     Fault
	start     [3]float64 // zero without one
}

// NewMemo returns a memo of at most most solutions; when full it begins anew.
func NewMemo(most int) *Memo { return &Memo{most: most, known: make(map[question]State)} }

// Solve is Machine.Solve with memory. A nil Memo remembers nothing.
func (m *Memo) Solve(machine *Machine, c Condition, f Fault, start *State) (State, error) {
	if m == nil {
		return machine.Solve(c, f, start)
	}
	q := question{machine: machine, condition: c, fault: f}
	if start != nil {
		q.start = start.z
	}
	if s, known := m.known[q]; known {
		return s, nil
	}
	s, err := machine.Solve(c, f, start)
	if err != nil {
		return s, err
	}
	if len(m.known) >= m.most {
		clear(m.known)
	}
	m.known[q] = s
	return s, nil
}
