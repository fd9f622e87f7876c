package diagnosis

// memo keeps a number for each situation of a problem: a table with open
// addressing, which costs a third of a map where millions are asked for.
type memo struct {
	keys   []uint64 // key + 1; 0 is free
	values []float64
	n      int
}

func newMemo() *memo { return &memo{keys: make([]uint64, 1<<10), values: make([]float64, 1<<10)} }

// place returns where the key is, or where it would be put.
//
// published: Knuth 1998, The Art of Computer Programming 3, 6.4: multiplicative
// hashing by the golden ratio of the word, linear probing.
func (m *memo) place(key uint64) int {
	mask := uint64(len(m.keys) - 1)
	for i := (key * 0x9e3779b97f4a7c15) >> 20 & mask; ; i = (i + 1) & mask {
		if m.keys[i] == 0 || m.keys[i] == key+1 {
			return int(i)
		}
	}
}

func (m *memo) get(key uint64) (float64, bool) {
	i := m.place(key)
	return m.values[i], m.keys[i] != 0
}

func (m *memo) put(key uint64, v float64) {
	if 2*m.n >= len(m.keys) {
		m.grow()
	}
	i := m.place(key)
	if m.keys[i] == 0 {
		m.n++
	}
	m.keys[i], m.values[i] = key+1, v
}

func (m *memo) grow() {
	old := *m
	*m = memo{keys: make([]uint64, 2*len(old.keys)), values: make([]float64, 2*len(old.keys)), n: old.n}
	for i, k := range old.keys {
		if k != 0 {
			j := m.place(k - 1)
			m.keys[j], m.values[j] = k, old.values[i]
		}
	}
}
