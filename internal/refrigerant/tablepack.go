package refrigerant

// block is a part of a table file, row by row: the numbers of a column change
// smoothly from row to row.
type block struct {
	rows, columns int
	value         func(i int) *float64
	even          bool // along a row they do too
}

// blocks lists the values of n in the order of the file.
func (n *nodes) blocks() []block {
	list := []block{
		{rows: len(n.sat), columns: satColumns, value: func(i int) *float64 { return &n.sat[i/satColumns][i%satColumns] }},
		{rows: len(n.lines), columns: 2, value: func(i int) *float64 { return &n.lines[i/2][i%2] }},
	}
	deep := n.grid.depth(1).axis.n
	for _, s := range n.surfaces {
		list = append(list, block{rows: len(s) / deep, columns: deep, value: func(i int) *float64 { return &s[i] }, even: true})
	}
	return list
}

// alongLines changes numbers laid out as b along its columns, and along its
// rows if they are even. It does not matter which comes first: what bend and
// unbend do along one is the same for all of the other, and linear.
func (b block) alongLines(numbers []int32, change func(line []int32, n, stride int)) {
	for c := range b.columns {
		change(numbers[c:], b.rows, b.columns)
	}
	for r := range b.rows {
		if b.even {
			change(numbers[r*b.columns:], b.columns, 1)
		}
	}
}

// bend replaces the n numbers of a line, stride apart, by their second
// differences, behind the first number and the first difference. What overflows
// comes back in unbend. Third differences would be noise of the last bits.
func bend(line []int32, n, stride int) {
	for order := 1; order <= 2; order++ {
		for i := n - 1; i >= order; i-- {
			line[i*stride] -= line[(i-1)*stride]
		}
	}
}

// unbend undoes bend.
func unbend(line []int32, n, stride int) {
	for order := 2; order >= 1; order-- {
		for i := order; i < n; i++ {
			line[i*stride] += line[(i-1)*stride]
		}
	}
}
