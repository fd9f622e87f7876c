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

// mayDo says whether a step of a safety class may be proposed in a case. It is
// asked before anything is scored: no information buys an unsafe step.
func (c Case) mayDo(s SafetyClass) bool {
	live := s == S2 || s == S3 || s == S6
	return !c.Stopped() && !(live && c.barsLive()) && c.Person.May(s)
}

// mayCheck says whether a check may be proposed.
func (e *Engine) mayCheck(check int, c Case) bool { return c.mayDo(e.checks[check].Safety) }
