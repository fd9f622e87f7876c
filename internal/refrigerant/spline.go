package refrigerant

// splineSlopes returns the slopes at the nodes x of the cubic spline through
// the values f, with the slope at both ends that of the cubic through the
// nearest four values. It needs four nodes.
func splineSlopes(x, f []float64) []float64 {
	n := len(x)
	m := make([]float64, n)
	m[0] = endSlope(x[:4], f[:4], 0)
	m[n-1] = endSlope(x[n-4:], f[n-4:], 3)
	// Continuity of the second derivative at each inner node i:
	//	m[i-1]/a + 2(1/a + 1/b) m[i] + m[i+1]/b = 3((f[i]-f[i-1])/a² + (f[i+1]-f[i])/b²)
	// with a and b the widths left and right; solved by elimination downward.
	diag := make([]float64, n)
	for i := 1; i < n-1; i++ {
		a, b := x[i]-x[i-1], x[i+1]-x[i]
		diag[i] = 2 * (1/a + 1/b)
		m[i] = 3 * ((f[i]-f[i-1])/(a*a) + (f[i+1]-f[i])/(b*b))
		if i == 1 {
			m[i] -= m[0] / a
			continue
		}
		k := 1 / (a * diag[i-1])
		diag[i] -= k / a
		m[i] -= k * m[i-1]
	}
	for i := n - 2; i > 0; i-- {
		b := x[i+1] - x[i]
		m[i] = (m[i] - m[i+1]/b) / diag[i]
	}
	return m
}

// endSlope returns the slope at x[k] of the cubic through four points.
func endSlope(x, f []float64, k int) float64 {
	var sum float64
	for i := range x {
		// derivative of the Lagrange polynomial i at node k
		d := 0.0
		for j := range x {
			if j == i {
				continue
			}
			prod := 1 / (x[i] - x[j])
			for l := range x {
				if l != i && l != j {
					prod *= (x[k] - x[l]) / (x[i] - x[l])
				}
			}
			d += prod
		}
		sum += d * f[i]
	}
	return sum
}
