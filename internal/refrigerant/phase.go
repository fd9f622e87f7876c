package refrigerant

import "math"

// phase is a homogeneous mixture at given temperature and concentrations, with
// what equilibrium asks of it.
//
// Fugacities and pressure stand as functions of the temperature and of the
// concentrations, not of the fractions: nothing has to be solved for the
// density, and all derivatives are those of one function,
//
//	S = Σ ρᵢ αʳᵢ + Σ (ρᵢρⱼ/r) F αʳᵢⱼ,
//
// the residual Helmholtz energy per volume over RT. αʳ depend on τ and δ, which
// are functions of the concentrations in turn.
//
// memory: the isochoric formulation of Deiters and Bell, for example AIChE
// Journal 2019, 65(11), e16730.
type phase struct {
	T    float64
	conc vector // mol/m³
	r    float64
	p    float64 // Pa
	lnf  vector  // ln of the fugacity in Pa
	dlnf matrix  // ∂ ln f_k/∂ ln ρ_l
	dp   vector  // ∂p/∂ ln ρ_l, Pa
	// along ln T at fixed concentrations
	lnfT vector
	pT   float64 // Pa
}

// set evaluates the phase of m at T in K and the concentrations conc in mol/m³.
func (ph *phase) set(m *mixture, T float64, conc *vector) {
	n := len(m.fluids)
	*ph = phase{T: T, conc: *conc}
	for i := range n {
		ph.r += conc[i]
	}
	r := ph.r
	var QT, Qv form
	m.reducing(conc, &QT, &Qv)
	tau, del := QT.q/(r*r*T), Qv.q/r

	var res residuals
	m.residuals(&res, conc, r, tau, del)
	total, own := &res.total, &res.own

	// Derivatives of ln τ and ln δ, of which τ is of degree 0 and δ of degree 1
	// in the concentrations.
	var tk, dk vector
	for k := range n {
		tk[k] = QT.d[k]/QT.q - 2/r
		dk[k] = Qv.d[k]/Qv.q - 1/r
	}
	RT := universalGas * T
	for k := range n {
		o := &own[k]
		ph.lnf[k] = math.Log(conc[k]*RT) + o.a + total.t*tk[k] + total.d*dk[k]
		ph.lnfT[k] = 1 - (o.t + (total.t+total.tt)*tk[k] + total.dt*dk[k])
	}
	for k := range n {
		for l := k; l < n; l++ {
			tkl := QT.m[k][l]/QT.q - 2*(QT.d[k]+QT.d[l])/(QT.q*r) + 6/(r*r) // ∂²τ/τ
			dkl := Qv.m[k][l]/Qv.q - (Qv.d[k]+Qv.d[l])/(Qv.q*r) + 2/(r*r)   // ∂²δ/δ
			h := (res.pair[k][l]-res.side[k]-res.side[l]+2*res.departure/r)/r +
				own[k].t*tk[l] + own[l].t*tk[k] + own[k].d*dk[l] + own[l].d*dk[k] +
				total.tt*tk[k]*tk[l] + total.dt*(tk[k]*dk[l]+tk[l]*dk[k]) + total.dd*dk[k]*dk[l] +
				total.t*tkl + total.d*dkl
			ph.dlnf[k][l], ph.dlnf[l][k] = conc[l]*h, conc[k]*h
		}
		ph.dlnf[k][k]++
	}
	// The pressure follows by Gibbs and Duhem.
	ph.p = RT * (r + total.d)
	ph.pT = RT * (r + total.d - total.dt)
	for l := range n {
		for k := range n {
			ph.dp[l] += RT * conc[k] * ph.dlnf[k][l]
		}
	}
}

// residuals holds S at fixed temperature and reducing point.
type residuals struct {
	total derivs                // S
	own   [maxComponents]derivs // ∂S/∂ρ_k at fixed τ and δ
	// of the departures: F αʳ_kl, Σ over l of that times ρ_l/r, and the whole
	pair      matrix
	side      vector
	departure float64
}

func (m *mixture) residuals(res *residuals, conc *vector, r, tau, del float64) {
	var it isotherm
	var departure derivs
	for i, f := range m.fluids {
		f.eq.residual.isotherm(&it, tau)
		a := it.at(del)
		res.own[i].plus(&a, 1)
		res.total.plus(&a, conc[i])
	}
	for i := range m.fluids {
		for j := i + 1; j < len(m.fluids); j++ {
			p := &m.pairs[i][j]
			if p.departure == nil {
				continue
			}
			p.departure.isotherm(&it, tau)
			a := it.at(del)
			res.own[i].plus(&a, p.scale*conc[j]/r)
			res.own[j].plus(&a, p.scale*conc[i]/r)
			departure.plus(&a, p.scale*conc[i]*conc[j]/r)
			res.pair[i][j] = p.scale * a.a
			res.pair[j][i] = res.pair[i][j]
			res.side[i] += p.scale * a.a * conc[j] / r
			res.side[j] += p.scale * a.a * conc[i] / r
		}
	}
	res.departure = departure.a
	res.total.plus(&departure, 1)
	for i := range m.fluids {
		res.own[i].plus(&departure, -1/r)
	}
}

// plus adds b times scale.
func (a *derivs) plus(b *derivs, scale float64) {
	a.a += scale * b.a
	a.d += scale * b.d
	a.t += scale * b.t
	a.dd += scale * b.dd
	a.dt += scale * b.dt
	a.tt += scale * b.tt
}
