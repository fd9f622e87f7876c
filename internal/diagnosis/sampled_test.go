package diagnosis

import (
	"math"
	"testing"
)

// Both estimates of the information in one point are coarse in their own way:
// cells by their width, samples by their number. Over all points they have to agree.
func TestSampledInformationAgreesWithCells(t *testing.T) {
	w := newSynthetic(24, 24, 5)
	e := mustEngine(t, w)
	in, err := e.infer(start())
	if err != nil {
		t.Fatal(err)
	}
	s := in.selectionOf(in.posterior(in.all()))
	m := s.newSampler()
	difference, mean := 0.0, 0.0
	for p := range e.points {
		byCells := s.information(s.cellsFor(p, intervalsAlone).mass)
		bySamples := m.information([]int{p})
		difference += math.Abs(byCells-bySamples) / float64(len(e.points))
		mean += byCells / float64(len(e.points))
	}
	t.Logf("mean information %.3f nat, mean difference %.3f nat", mean, difference)
	// A third of the mean: 24 samples of an entropy that scatters by about one nat err by a fifth of it.
	if mean < 0.1 || difference > mean/3 {
		t.Errorf("mean information %.3f nat, mean difference %.3f nat", mean, difference)
	}
}

// Superheat and subcooling lie in the differences of pressures and pipe
// temperatures: read together they tell more than the better alone.
func TestPressuresAndPipesTellMoreTogether(t *testing.T) {
	s := openHouse(t, hot, "weak-cooling")
	in, err := s.infer(arrived())
	if err != nil {
		t.Fatal(err)
	}
	m := in.selectionOf(in.posterior(in.all())).newSampler()
	at := func(refs ...Ref) (points []int) {
		for _, r := range refs {
			points = append(points, s.pointAt[r])
		}
		return points
	}
	pressures, pipes := at(suctionPressure, liquidPressure), at(suctionPipe, liquidPipe)
	one, two := m.information(pressures), m.information(pipes)
	both := m.information(append(pressures, pipes...))
	t.Logf("pressures %.2f nat, pipes %.2f, together %.2f", one, two, both)
	if both < 1.1*math.Max(one, two) {
		t.Errorf("pressures %.2f nat, pipes %.2f, together %.2f", one, two, both)
	}
}
