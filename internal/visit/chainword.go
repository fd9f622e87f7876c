package visit

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"rung/internal/fault"
)

// chainLink is a link of a chain and how to prove it: data/chain.txt.
type chainLink struct {
	id         string
	name, hint fault.Text
	minutes    float64
	steps      []chainStep
	proofs     []linkProof
}

// chainStep is a step of a proof with the cautions shown at it, by id.
type chainStep struct {
	text     fault.Text
	cautions []string
}

// linkProof is a way in which a link is found out.
type linkProof struct {
	id   string
	of   []string // links
	name fault.Text
}

// wordsOfChain holds the links in their order, and the cautions of their steps.
var wordsOfChain = sync.OnceValues(func() ([]chainLink, map[string]fault.Text) { return readChain(readData("chain.txt")) })

func chainWords() []chainLink {
	links, _ := wordsOfChain()
	return links
}

func chainCautions() map[string]fault.Text {
	_, cautions := wordsOfChain()
	return cautions
}

func readChain(f fault.File) ([]chainLink, map[string]fault.Text) {
	var links []chainLink
	cautions := map[string]fault.Text{}
	for _, b := range f.Blocks {
		switch b.Kind {
		case "link":
			l := chainLink{id: b.ID}
			mustDecode(f, b, linkKeys, &l)
			links = append(links, l)
		case "proof":
			p := linkProof{id: b.ID}
			mustDecode(f, b, proofKeys, &p)
			for i := range links {
				if slices.Contains(p.of, links[i].id) {
					links[i].proofs = append(links[i].proofs, p)
				}
			}
		case "caution":
			var t fault.Text
			mustDecode(f, b, map[string]fault.Key[fault.Text]{
				"text":    fault.Required(fault.InWords(func(t *fault.Text) *string { return &t.EN })),
				"text.es": fault.Required(fault.InWords(func(t *fault.Text) *string { return &t.ES })),
			}, &t)
			cautions[b.ID] = t
		default:
			panic("visit: chain.txt: no such block as " + b.Kind)
		}
	}
	return links, cautions
}

var linkKeys = map[string]fault.Key[chainLink]{
	"name":    fault.Required(fault.InWords(func(l *chainLink) *string { return &l.name.EN })),
	"name.es": fault.Required(fault.InWords(func(l *chainLink) *string { return &l.name.ES })),
	"hint":    fault.Required(fault.InWords(func(l *chainLink) *string { return &l.hint.EN })),
	"hint.es": fault.Required(fault.InWords(func(l *chainLink) *string { return &l.hint.ES })),
	"minutes": fault.Required(fault.Number(func(l *chainLink) *float64 { return &l.minutes }, 1, 60)),
	"step": fault.Required(fault.Repeated(fault.Key[chainLink]{Set: func(l *chainLink, s string) error {
		l.steps = append(l.steps, chainStep{text: fault.Text{EN: s}})
		return nil
	}})),
	"step.es": fault.Repeated(inLastStep(func(s *chainStep, text string) { s.text.ES = text })),
	"caution": fault.Repeated(inLastStep(func(s *chainStep, id string) { s.cautions = append(s.cautions, id) })),
}

// inLastStep reads a field that belongs to the step above it.
func inLastStep(set func(*chainStep, string)) fault.Key[chainLink] {
	return fault.Key[chainLink]{Set: func(l *chainLink, s string) error {
		if len(l.steps) == 0 {
			return fmt.Errorf("stands before the first step")
		}
		set(&l.steps[len(l.steps)-1], s)
		return nil
	}}
}

var proofKeys = map[string]fault.Key[linkProof]{
	"of":      fault.Required(fault.IDs(func(p *linkProof) *[]string { return &p.of })),
	"name":    fault.Required(fault.InWords(func(p *linkProof) *string { return &p.name.EN })),
	"name.es": fault.Required(fault.InWords(func(p *linkProof) *string { return &p.name.ES })),
}

// chainLinkOf returns the words of a link.
func chainLinkOf(id string) (chainLink, bool) {
	i := slices.IndexFunc(chainWords(), func(l chainLink) bool { return l.id == id })
	if i < 0 {
		return chainLink{}, false
	}
	return chainWords()[i], true
}

// proofName returns how a link was found out, in words; the id stands in for
// one of a later program.
func (l chainLink) proofName(id string, lang Language) string {
	for _, p := range l.proofs {
		if p.id == id {
			return lang.text(p.name)
		}
	}
	return id
}

// stepsFor returns the steps with the {names} of fill filled in.
func (l chainLink) stepsFor(lang Language, fill ...string) []Step {
	for i := 0; i < len(fill); i += 2 {
		fill[i] = "{" + fill[i] + "}"
	}
	names := strings.NewReplacer(fill...)
	var list []Step
	for _, s := range l.steps {
		step := Step{Text: names.Replace(lang.text(s.text))}
		for _, id := range s.cautions {
			step.Cautions = append(step.Cautions, lang.text(chainCautions()[id]))
		}
		list = append(list, step)
	}
	return list
}
