package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// TestEveryReplacerHasAPage opens each planner empty and with its example.
func TestEveryReplacerHasAPage(t *testing.T) {
	b := quickBrowser(t)
	b.open("/replace").wants(http.StatusOK)
	for _, x := range replacers() {
		one(t, b.doc, "a[href=/replace/"+x.id+"]")
	}
	for _, x := range replacers() {
		t.Run(x.id, func(t *testing.T) {
			b.t = t
			b.open("/replace/" + x.id).wants(http.StatusOK)
			checkReplacePage(t, b.doc)
			one(t, b.doc, "form[method=get][action=/replace/"+x.id+"]")
			one(t, b.doc, ".caution")
			b.follow("Try an example").wants(http.StatusOK)
			checkReplacePage(t, b.doc)
			one(t, b.doc, "#answer")
			if got := words(one(t, b.doc, "main")); strings.ContainsAny(got, "{}") || strings.Contains(got, "NaN") {
				t.Errorf("the page says %s", got)
			}
			// Nothing filled in is a mistake that is told, not an answer.
			b.open("/replace/" + x.id + "?sent=yes").wants(http.StatusUnprocessableEntity)
			one(t, b.doc, ".wrong")
			if len(all(b.doc, "#answer")) > 0 {
				t.Error("an empty form has an answer")
			}
		})
	}
}

func checkReplacePage(t *testing.T, doc *html.Node) {
	t.Helper()
	checkLandmarks(t, doc)
	checkNoInline(t, doc)
	checkNames(t, doc)
	checkIDs(t, doc)
}

func TestReplaceCapacitorPage(t *testing.T) {
	b := quickBrowser(t)
	b.open("/replace/capacitor?" + example("can-herm", "45", "can-fan", "5", "can-volts", "370",
		"truck", "bin 1: 45+5 uF 440 V\n45 uF 440 V\n5 uF 370 V\n40+5 uF 440 V\nstart 100 uF 330 V").Encode())
	b.wants(http.StatusOK).says("#answer", "bin 1: 45+5 uF 440 V").says(".part.holds", "Fits")
	if parts := all(b.doc, ".part"); len(parts) != 2 || !strings.Contains(words(parts[1]), "Fits with a note") {
		t.Errorf("%d parts, want the dual and two singles with a note", len(parts))
	}
	b.says(".refused", "40+5 uF 440 V").says(".refused", "never a run capacitor").says(".steps .caution", "Lock the power out")
	// A label that is not understood is told with its line.
	b.open("/replace/capacitor?" + example("can-herm", "45", "can-volts", "370", "truck", "45 uF 440 V\n45 440 V").Encode())
	b.wants(http.StatusUnprocessableEntity).says(".wrong", "Line 2")
	if got := words(one(t, b.doc, "#f-truck")); got != "45 uF 440 V 45 440 V" {
		t.Errorf("what was typed is gone: %q", got)
	}
	// A value that no run capacitor has.
	b.open("/replace/capacitor?" + example("can-herm", "4500", "can-volts", "370").Encode())
	b.wants(http.StatusUnprocessableEntity).says(".wrong", "µF is outside")
}

func TestReplaceThermostatPage(t *testing.T) {
	b := quickBrowser(t)
	q := thermostatReplacer().example
	b.open("/replace/thermostat?" + q.Encode())
	b.wants(http.StatusOK).says("#answer", "can be changed").says(".wires", "Wire 4, red RH → RH").says(".wires", "Wire 6, blue – → C").says(".result", "Jumper Rc to Rh: out")
	order := words(one(t, b.doc, "main"))
	at := -1
	for _, want := range []string{"Take a picture", "Power off at both units", "Move the conductors", "never tied", "Settings", "Proof", "Cooling: wait", "Heating: see", "Fan: see", "Both transformers apart"} {
		i := strings.Index(order, want)
		if i <= at {
			t.Errorf("%q is missing or out of order", want)
		}
		at = i
	}
	for control, want := range map[string]string{"line-voltage": "line-voltage", "millivolt": "millivolt", "communicating": "communicating"} {
		q.Set("control", control)
		b.open("/replace/thermostat?"+q.Encode()).wants(http.StatusOK).says("#answer", "No plan").says(".result .warning", want)
		if len(all(b.doc, ".wires")) > 0 {
			t.Errorf("%s: conductors are moved", control)
		}
	}
	q.Set("control", "24-volt")
	q.Set("wire2-to", "hum")
	b.open("/replace/thermostat?"+q.Encode()).wants(http.StatusUnprocessableEntity).says(".wrong", "humidifier")
}

// A unit and a visit lead to the planners, with what the plates tell filled in.
func TestReplaceWithThePlates(t *testing.T) {
	b := quickBrowser(t).house()
	b.follow("Type in the nameplate").submit("Save nameplate", url.Values{"herm-capacitance": {"45"}, "fan-capacitance": {"5"}, "capacitor-voltage": {"440"},
		"rated-load-amps": {"16.7"}, "locked-rotor-amps": {"79"}, "fan-amps": {"1.4"}, "max-protection": {"35"}, "contactor-poles": {"two-pole"}}).wants(http.StatusOK)
	unit := b.at.Path
	for part, want := range map[string]map[string]string{
		"capacitor": {"plate-herm": "45", "plate-fan": "5", "plate-volts": "440"},
		"contactor": {"rla": "16.7", "lra": "79", "fla": "1.4"},
		"branch":    {"rla": "16.7", "plate-most": "35"},
	} {
		b.open(unit).follow("Replace a part").wants(http.StatusOK).open(attr(one(t, b.doc, "main a[href=/replace/"+part+"?"+b.at.RawQuery+"]"), "href")).wants(http.StatusOK)
		for name, value := range want {
			if got := attr(one(t, b.doc, "form input[name="+name+"]"), "value"); got != value {
				t.Errorf("%s: %s is %q, want %s", part, name, got, value)
			}
		}
		one(t, b.doc, "input[name=unit]")
	}
	b.open("/replace/contactor" + "?" + b.at.RawQuery).wants(http.StatusOK)
	if n := one(t, b.doc, "input[name=poles][value=two-pole]"); !has(n, "checked") {
		t.Error("the poles of the plate are not chosen")
	}
	b.open("/replace/branch?unit=none").wants(http.StatusNotFound)
}

func TestReplaceFromARepair(t *testing.T) {
	b := quickBrowser(t).visit()
	visit := b.at.Path
	b.open(visit+"/repair?repair=replace-run-capacitor").follow("What fits?").wants(http.StatusOK).says("h1", "Run capacitor").says(".tabs", "Repair")
	b.submit("What fits", url.Values{"can-herm": {"35"}, "can-volts": {"370"}, "truck": {"35 uF 440 V"}}).wants(http.StatusOK).says("#answer", "35 uF 440 V").says(".tabs", "Proof")
	b.open(visit+"/repair").follow("What fits?").wants(http.StatusOK).says("h1", "Replace a part")
}

// Nonsense in any field is told, never an error of the program.
func TestReplaceTakesAnything(t *testing.T) {
	b := quickBrowser(t)
	for _, x := range replacers() {
		for name := range x.example {
			if name == "sent" {
				continue
			}
			for _, text := range []string{"x", "-1", "1e9", "1/0", "0", "“", strings.Repeat("9", 400), "R R", "1 uF 1 V 1 A 1 hp 1 rpm"} {
				q := url.Values{}
				for k, v := range x.example {
					q[k] = v
				}
				q.Set(name, text)
				b.open("/replace/" + x.id + "?" + q.Encode())
				if b.status != http.StatusOK && b.status != http.StatusUnprocessableEntity {
					t.Errorf("%s, %s %q: status %d", x.id, name, text, b.status)
				}
				if got := words(one(t, b.doc, "main")); strings.Contains(got, "NaN") || strings.Contains(got, "Inf") || strings.Contains(got, "\uFFFD") {
					t.Errorf("%s, %s %q: the page says %s", x.id, name, text, got)
				}
			}
		}
	}
}

// A letter alone is a guess and marked; one that means many things is refused.
func TestReplaceThermostatByLetters(t *testing.T) {
	b := quickBrowser(t)
	q := example("control", "24-volt", "heat", "furnace", "cooling", "1", "old", "R Y G W X", "wire1-colour", "red", "wire1-at", "R", "wire2-colour", "yellow", "wire2-at", "Y",
		"wire3-colour", "green", "wire3-at", "G", "wire4-colour", "white", "wire4-at", "w", "new", "R C Y G W", "mode", "both", "supply", "common-or-battery")
	b.open("/replace/thermostat?"+q.Encode()).wants(http.StatusOK).says("#answer", "can be changed").says(".wires", "Assumed from its letter").says(".steps", "look at the other end")
	q.Set("wire5-at", "X")
	b.open("/replace/thermostat?"+q.Encode()).wants(http.StatusOK).says("#answer", "No plan").says(".warning", "Trace it")
}
