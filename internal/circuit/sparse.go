package circuit

// plan is the order of elimination of a network's nodes and the position of
// every number that takes part, worked out once per shape.
//
// The matrix is the indefinite admittance matrix: every row sums to zero when
// the reference column is counted. Only off-diagonal elements are kept; the
// pivot is the negative sum of its row. Sums of like-signed admittances do not
// cancel, so a group of nodes that hangs on the rest by a gigohm keeps its
// voltage to full precision beside contacts of a milliohm. (The same idea as
// the state-reduction algorithm for Markov chains.)
//
// memory: Grassmann, Taksar, Heyman 1985, Operations Research 33(5), for the
// pivot; Tinney and Walker 1967, Proc. IEEE 55(11), for the order by fewest
// neighbours. Neither seen here.
type plan struct {
	n        int     // nodes without the reference
	position []int32 // of node i+1 in the order of elimination

	// Step k divides by its pivot. Its row has elements at row[k] ... : one for
	// each of its later neighbours, then the reference column. The column
	// below the pivot is at row[k]+degree+1 ... in the same order.
	row       []int32
	degree    []int32
	first     []int32 // of the neighbours of each step in neighbour
	neighbour []int32 // positions, degree[k] of them per step
	// For each neighbour i of step k, for each other neighbour j and then the
	// reference: the element (i, j) that is changed.
	target []int32
	slots  int
	find   map[[2]int32]int32 // slot of (row, column) by position; column n is the reference
}

// trash is the slot that takes the elements which do not exist: rows of the
// reference, and diagonals.
const trash = 0

// newPlan orders n nodes (1 to n; 0 is the reference) joined as adjacency says.
func newPlan(n int, adjacency [][]bool) *plan {
	p := &plan{n: n, position: make([]int32, n), find: map[[2]int32]int32{}, slots: 1}
	order, neighbours := eliminationOrder(n, adjacency)
	for k, node := range order {
		p.position[node-1] = int32(k)
	}
	for k := range order {
		p.row = append(p.row, int32(p.slots))
		p.degree = append(p.degree, int32(len(neighbours[k])))
		first := len(p.neighbour)
		p.first = append(p.first, int32(first))
		for _, node := range neighbours[k] {
			p.neighbour = append(p.neighbour, p.position[node-1])
		}
		later := p.neighbour[first:]
		for _, j := range later {
			p.slot(int32(k), j)
		}
		p.slot(int32(k), int32(n))
		for _, i := range later {
			p.slot(i, int32(k))
		}
	}
	p.aim()
	return p
}

func (p *plan) slot(i, j int32) {
	p.find[[2]int32{i, j}] = int32(p.slots)
	p.slots++
}

// aim fills target.
func (p *plan) aim() {
	at := 0
	for k := range p.n {
		d := int(p.degree[k])
		later := p.neighbour[at : at+d]
		at += d
		for _, i := range later {
			for _, j := range later {
				if i == j {
					p.target = append(p.target, trash)
					continue
				}
				p.target = append(p.target, p.find[[2]int32{i, j}])
			}
			p.target = append(p.target, p.find[[2]int32{i, int32(p.n)}])
		}
	}
}

// eliminationOrder removes at each step the node with the fewest neighbours
// and joins those to each other. It returns the nodes in order, and of each the
// neighbours that remained.
func eliminationOrder(n int, adjacency [][]bool) (order []int, neighbours [][]int) {
	gone := make([]bool, n+1)
	for range n {
		best, fewest := 0, n+1
		for i := 1; i <= n; i++ {
			if gone[i] {
				continue
			}
			if d := len(remaining(adjacency[i], gone)); d < fewest {
				best, fewest = i, d
			}
		}
		list := remaining(adjacency[best], gone)
		for _, i := range list {
			for _, j := range list {
				adjacency[i][j] = adjacency[i][j] || i != j
			}
			adjacency[i][best] = false
		}
		gone[best] = true
		order, neighbours = append(order, best), append(neighbours, list)
	}
	return order, neighbours
}

func remaining(row []bool, gone []bool) []int {
	var list []int
	for j := 1; j < len(row); j++ {
		if row[j] && !gone[j] {
			list = append(list, j)
		}
	}
	return list
}

// at returns the slot of the element in the row of node i and the column of
// node j, trash if it is not kept.
func (p *plan) at(i, j Node) int32 {
	if i == Ground || i == j {
		return trash
	}
	column := int32(p.n)
	if j != Ground {
		column = p.position[j-1]
	}
	return p.find[[2]int32{p.position[i-1], column}]
}

// matrix holds the numbers of one elimination: a by slot, and the reciprocal
// pivots.
type matrix struct {
	a   []complex128
	inv []complex128
}

// factor eliminates in place: a holds the off-diagonal admittances, siemens.
// A pivot of zero shows as NaN or infinity in inv.
func (p *plan) factor(m *matrix) {
	a := m.a
	target := p.target
	for k := range p.n {
		d := int(p.degree[k])
		r := int(p.row[k])
		row := a[r : r+d+1]
		var sum complex128
		for _, u := range row {
			sum -= u
		}
		inv := reciprocal(sum)
		m.inv[k] = inv
		column := a[r+d+1 : r+2*d+1]
		for i, l := range column {
			if l == 0 {
				target = target[d+1:]
				continue
			}
			l *= inv
			column[i] = l
			aim := target[:len(row)]
			target = target[len(row):]
			for j, u := range row {
				a[aim[j]] -= l * u
			}
		}
	}
}

// solve replaces x, currents into the nodes by position, by node voltages.
func (p *plan) solve(m *matrix, x []complex128) {
	a := m.a
	neighbour := p.neighbour
	for k := range p.n {
		d := int(p.degree[k])
		list := neighbour[:d]
		neighbour = neighbour[d:]
		xk := x[k]
		if xk == 0 {
			continue
		}
		column := a[int(p.row[k])+d+1:][:d]
		for i, j := range list {
			x[j] -= column[i] * xk
		}
	}
	end := len(p.neighbour)
	for k := p.n - 1; k >= 0; k-- {
		d := int(p.degree[k])
		list := p.neighbour[end-d : end]
		end -= d
		sum := x[k]
		row := a[p.row[k]:][:d]
		for i, j := range list {
			sum -= row[i] * x[j]
		}
		x[k] = sum * m.inv[k]
	}
}

// forward does the first half of solve from position from, before which x is
// nothing. What stands beside it is nothing but where the current passes.
func (p *plan) forward(m *matrix, x []complex128, from int) {
	for k := from; k < p.n; k++ {
		xk := x[k]
		if xk == 0 {
			continue
		}
		d, first := int(p.degree[k]), int(p.first[k])
		column := m.a[int(p.row[k])+d+1:][:d]
		for i, j := range p.neighbour[first : first+d] {
			x[j] -= column[i] * xk
		}
	}
}

// backward does for a reading of voltages, voltages = wᵀx, what forward does for
// currents: the voltages that currents y cause read wᵀy once both were done.
func (p *plan) backward(m *matrix, w []complex128, from int) {
	for k := from; k < p.n; k++ {
		if w[k] == 0 {
			continue
		}
		wk := w[k] * m.inv[k]
		w[k] = wk
		d, first := int(p.degree[k]), int(p.first[k])
		row := m.a[p.row[k]:][:d]
		for i, j := range p.neighbour[first : first+d] {
			w[j] -= row[i] * wk
		}
	}
}
