package web

import (
	"testing"

	"rung/internal/journal/sqlitelog"
)

// inSpanish fails the test unless the page says that it is in Spanish.
func (p *phone) inSpanish() *phone {
	p.t.Helper()
	if lang := ask[string](p, `document.documentElement.lang`); lang != "es" {
		p.t.Errorf("%s: the page is in %q", p.where(), lang)
	}
	return p
}

// TestSpanishFitsAPhone reads the pages of a visit in Spanish on the screen of a
// phone: its words are longer.
func TestSpanishFitsAPhone(t *testing.T) {
	s := newShop(t, sqlitelog.Options{})
	p := newPhone(t, browsers(t), s.url)
	p.enterHouse().openVisit().press("Español").inSpanish().says("h1", "No enfría nada").says(".lit h2", "Prueba que sigue")
	visit := p.where()
	p.follow("Todas las pruebas").inSpanish().says("h1", "Todas las pruebas")
	p.open(visit+"/checks/look-listen?demand=cool").inSpanish().fill("point-outdoor-fan", "running").fill("point-compressor", "hums-then-stops").press("Anotar").says("[role=status]", "Anotado")
	p.open(visit+"/checks/cap-bench").inSpanish().fill("point-herm", "0").fill("point-fan", "5").press("Anotar").says(".verdict h2", "Listo para reparar")
	p.open(visit + "/checks/gauge-pressures?demand=cool").inSpanish()
	p.open(visit+"/surroundings").inSpanish().says("h1", "Entorno")
	p.open(visit+"/repair?repair=replace-run-capacitor").inSpanish().fill("why", "heat").press("Anotar reparación").inSpanish().says("h1", "Verificar")
	p.open(visit + "/choose").inSpanish()
	p.open(visit).press("English").says(".lit h2", "Next check")
}

// TestSpanishWithoutSignal chooses Spanish in the phone's own program, where no
// cookie comes, and finds it again after the worker was stopped.
func TestSpanishWithoutSignal(t *testing.T) {
	b := newBasement(t, "").setUp()
	b.noSignal()
	b.enterHouse().openVisit().press("Español").inSpanish().says("h1", "No enfría nada")
	visit := b.where()
	b.stopWorker()
	b.open(visit).inSpanish().says("#causes", "de 100")
	b.open("/phone").press("English")
	b.open(visit).says("#causes", "in 100")
}
