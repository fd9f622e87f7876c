package diagnosis

// stops says whether a hazard ends all work until it is dealt with.
func (h Hazard) stops() bool {
	switch h {
	case HazardGasSmell, HazardCarbonMonoxide, HazardFire, HazardRefrigerantFlammable:
		return true
	}
	return false
}

// Stopped says whether the hazards found forbid every proposal.
func (c Case) Stopped() bool {
	for _, h := range c.Hazards {
		if h.stops() {
			return true
		}
	}
	return false
}

// barsLive says whether a hazard forbids work on parts that may be live.
func (c Case) barsLive() bool {
	for _, h := range c.Hazards {
		if h == HazardWaterNearLive {
			return true
		}
	}
	return false
}

// May says whether a person may do a step of the class.
//
// practice: own rules; local law and the shop's own rules may be stricter.
func (p Person) May(s SafetyClass) bool {
	learner := p.Role != Mechanic && !p.Supervised
	switch s {
	case S0, S1:
		return true
	case S2, S3:
		return !learner
	case S4:
		return p.Refrigerant && !learner
	case S5:
		return p.Gas && !learner
	case S6:
		return p.Electrician
	}
	return false
}

// Holds says whether a person holds a licence; an unknown one nobody holds.
func (p Person) Holds(l Licence) bool {
	switch l {
	case NoLicence:
		return true
	case RefrigerantLicence:
		return p.Refrigerant
	case ElectricianLicence:
		return p.Electrician
	case GasLicence:
		return p.Gas
	}
	return false
}

// bars says whether the hazards found forbid a step of a safety class.
func (c Case) bars(s SafetyClass) bool {
	live := s == S2 || s == S3 || s == S6
	return c.Stopped() || live && c.barsLive()
}

// mayDo says whether a step may be proposed in a case. It is asked before
// anything is scored: no information buys an unsafe step.
func (c Case) mayDo(s SafetyClass, l Licence) bool {
	return !c.bars(s) && c.Person.May(s) && c.Person.Holds(l)
}

// mayCheck says whether a check may be proposed.
func (e *Engine) mayCheck(check int, c Case) bool {
	return c.mayDo(e.checks[check].Safety, e.checks[check].Licence)
}
