package calc

import "rung/internal/quantity"

// splitAir is the air at a coil in the units of the regression below.
type splitAir struct {
	dryBulb, wetBulb float64 // return air, °F
	outdoor          float64 // °F
	airflow          float64 // CFM per ton of rated capacity
}

// coilDrop returns the drop of dry bulb across a healthy coil in °F, before the
// heat of the blower.
//
// Valid over the grid for which the regression's points were made: return dry
// bulb 70 to 80 °F, wet bulb 55 to 70 °F, outdoor 82 to 105 °F, 250 to 450 CFM
// per ton; outside it the error is a *quantity.RangeError.
//
// published: California Title 24 compliance model, regression of gross sensible
// heat ratio and relative gross capacity, coefficients as coded in an
// open-source library of air-conditioner models; drop = SHR·capacity·12000/(1.08·V).
func (a splitAir) coilDrop() (float64, error) {
	for _, c := range []struct {
		name          string
		value, lo, hi float64
		unit          string
	}{
		{"return_dry_bulb", a.dryBulb, 70, 80, "°F"},
		{"return_wet_bulb", a.wetBulb, 55, 70, "°F"},
		{"outdoor_dry_bulb", a.outdoor, 82, 105, "°F"},
		{"airflow_per_capacity", a.airflow, 250, 450, "CFM per ton"},
	} {
		const slack = 1e-9 // of a conversion from another unit
		if err := quantity.CheckRange("expected temperature split", c.name, c.value, c.lo-slack, c.hi+slack, c.unit); err != nil {
			return 0, err
		}
	}
	const (
		btuPerTon = 12000 // Btu/h
		airFactor = 1.08  // Btu/h per CFM per °F, standard air
	)
	shr := min(a.sensibleHeatRatio(), 1)
	capacity := a.wetCapacity()
	if shr == 1 {
		capacity = a.dryCapacity()
	}
	return shr * capacity * btuPerTon / (airFactor * a.airflow), nil
}

func (a splitAir) sensibleHeatRatio() float64 {
	db, wb, od, v := a.dryBulb, a.wetBulb, a.outdoor, a.airflow
	return 0.024202*db - 0.0592153*wb + 0.0012651*od + 0.0016375*v -
		1.65e-05*wb*v + 0.0002021*wb*wb + 1.5085285
}

// wetCapacity is relative to the rated gross capacity, coil wet.
func (a splitAir) wetCapacity() float64 {
	wb, od, v := a.wetBulb, a.outdoor, a.airflow
	return 0.0096459*wb + 0.0025369*od + 0.0001715*v - 9.59e-05*wb*od +
		8.18e-06*wb*v - 7.55e-06*od*v + 0.0001057*wb*wb - 53.5423/v + 0.38156715
}

// dryCapacity is relative to the rated gross capacity, coil dry.
func (a splitAir) dryCapacity() float64 {
	db, od, v := a.dryBulb, a.outdoor, a.airflow
	return 0.0094831*db - 0.0006006*od - 0.0001489*v - 3.26e-05*db*od +
		1.19e-05*db*v - 5.05e-06*od*v - 52.56174/v + 0.4307516
}
