package visit

import (
	"context"
	"slices"
	"strings"
	"time"

	"rung/internal/ledger"
	"rung/internal/record"
)

// ChainSheet says which thermostat, units, disconnect and breaker of a house
// belong together, how that is known, and what to prove next.
type ChainSheet struct {
	Property *ledger.Property
	Systems  []ChainLine
	Next     *ChainStep // nil if all is proved, or there is no system
	Left     float64    // minutes to prove all the rest
	Swapped  []Swap
	Doubts   []string // other disagreements, a sentence each

	language Language
}

// ChainLine is the chain of one system.
type ChainLine struct {
	System     *ledger.System
	Thermostat string // its place; empty if none is entered
	Links      []ChainLink

	language Language
}

// LinkState says how a link is known.
type LinkState string

// The states of a link.
const (
	LinkUnknown LinkState = "unknown"
	LinkLabel   LinkState = "label"
	LinkProved  LinkState = "proved"
)

// ChainLink is a link as it stands.
type ChainLink struct {
	Link    Choice
	State   LinkState
	Place   string // empty if unknown
	Label   string // what the label says, where a test showed another
	How     string // in words; empty if unknown
	By      string
	Note    string
	At      time.Time
	Swapped bool // it is one of a swapped pair
	Shared  bool // another system claims the same
	Doubted bool // something disagrees with it
	// Entry is what can be taken back; empty where a unit was only entered.
	Entry record.EntryID
}

// ChainStep is the proof to make next.
type ChainStep struct {
	System  *ledger.System
	Link    Choice
	Minutes float64
	Steps   []Step
}

// Swap is a pair of systems of which each has what is labelled for the other.
type Swap struct {
	Link    Choice
	Systems []record.SystemID
	Pair    string // "Swapped outdoor units: 1 downstairs and 2 upstairs"
	Says    string
	Means   string
	Mend    []string
}

// LinkInput is a link found. How is one of LinkProofs. What was found is one of
// LinkPlaces, in Known, or is told in words, in Place.
type LinkInput struct {
	Link         string
	Known, Place string
	How          string
	FoundBy      string // if not the author
	Note         string
}

// Chain says which serves which at a property.
func (s *Service) Chain(ctx context.Context, property record.PropertyID) (ChainSheet, error) {
	p, err := s.knownProperty(ctx, property)
	if err != nil {
		return ChainSheet{}, err
	}
	chains := p.Chains()
	conflicts := ledger.Conflicts(chains)
	l := LanguageOf(ctx)
	sheet := ChainSheet{Property: p.Property, language: l}
	for _, c := range chains {
		sheet.Systems = append(sheet.Systems, chainLine(p.Property, c, conflicts, l))
	}
	for a, line := range sheet.Systems {
		for i, link := range line.Links {
			if chains[a].Links[i].Stale {
				sheet.Doubts = append(sheet.Doubts, l.say("chain-stale", "a", line.System.Title(), "link", l.lower(link.Link.Name), "before", l.lower(l.text(chainWords()[i-1].name))))
			}
			if link.State != LinkProved {
				sheet.Left += chainWords()[i].minutes
			}
		}
	}
	sheet.Next = sheet.next()
	for _, c := range conflicts {
		if c.Kind == ledger.Crossed {
			sheet.Swapped = append(sheet.Swapped, sheet.swap(c))
		} else {
			sheet.Doubts = append(sheet.Doubts, sheet.doubt(c))
		}
	}
	return sheet, nil
}

func chainLine(p *ledger.Property, c ledger.Chain, conflicts []ledger.Conflict, lang Language) ChainLine {
	line := ChainLine{System: c.System, language: lang}
	for _, u := range c.System.Units {
		if u.Kind == "thermostat" && line.Thermostat == "" {
			line.Thermostat = u.Place
		}
	}
	for i, l := range c.Links {
		words := chainWords()[i]
		link := ChainLink{Link: Choice{words.id, lang.text(words.name)}, State: LinkUnknown}
		if f, known := l.Value(); known {
			link.State, link.Place, link.At = LinkLabel, p.PlaceOf(f.LinkFound), f.Stamp.At
			link.How, link.By, link.Note, link.Entry = words.proofName(f.How, lang), orAuthor(f.By, f.Stamp), f.Note, f.Stamp.Entry
			if f.Entered {
				link.How, link.Entry = lang.say("chain-as-entered"), ""
			}
		}
		if l.Proved() {
			link.State = LinkProved
		}
		for _, x := range conflicts {
			if x.Link != words.id || !slices.Contains(x.Systems, c.System.System) {
				continue
			}
			link.Doubted = true
			link.Swapped = link.Swapped || x.Kind == ledger.Crossed
			link.Shared = link.Shared || x.Kind == ledger.Shared
			if x.Kind != ledger.Shared {
				link.Label = p.PlaceOf(l.Label.LinkFound)
			}
		}
		line.Links = append(line.Links, link)
	}
	return line
}

func orAuthor(by string, stamp ledger.Stamp) string {
	if by == "" {
		return stamp.Author
	}
	return by
}

// next returns the link to prove next. One call at a thermostat proves the
// indoor unit, on the way out the outdoor unit, and there its disconnect; so a
// system is gone through as far as its disconnect before the next thermostat,
// and the panel comes last, for all systems in one go.
func (s ChainSheet) next() *ChainStep {
	last := len(chainWords()) - 1
	for _, links := range [][2]int{{0, last}, {last, last + 1}} {
		for _, line := range s.Systems {
			for i := links[0]; i < links[1]; i++ {
				if line.Links[i].State != LinkProved {
					step := line.step(i)
					return &step
				}
			}
		}
	}
	return nil
}

// step returns the proof of link i of the line.
func (l ChainLine) step(i int) ChainStep {
	thermostat := l.System.Title()
	if l.Thermostat != "" {
		thermostat += " (" + l.Thermostat + ")"
	}
	place := func(link string) string {
		for _, x := range l.Links {
			if x.Link.ID == link && x.Place != "" {
				return "“" + x.Place + "”"
			}
		}
		return l.language.phrase("chain-of", "system", l.System.Title())
	}
	words := chainWords()[i]
	return ChainStep{System: l.System, Link: l.Links[i].Link, Minutes: words.minutes,
		Steps: words.stepsFor(l.language, "system", l.System.Title(), "thermostat", thermostat,
			"outdoor", place(record.LinkOutdoorUnit), "disconnect", place(record.LinkDisconnect))}
}

// line returns the line of a system and its link of a kind.
func (s ChainSheet) line(id record.SystemID, link string) (ChainLine, ChainLink) {
	for _, l := range s.Systems {
		for _, x := range l.Links {
			if l.System.System == id && x.Link.ID == link {
				return l, x
			}
		}
	}
	return ChainLine{}, ChainLink{}
}

// swap says that two systems are crossed, what it means and how it is mended.
func (s ChainSheet) swap(c ledger.Conflict) Swap {
	a, link := s.line(c.Systems[0], c.Link)
	b, _ := s.line(c.Systems[1], c.Link)
	w := Swap{Link: link.Link, Systems: c.Systems, Says: s.language.say("chain-crossed-" + c.Link),
		Pair: s.language.say("chain-swapped", "link", s.language.lower(link.Link.Name), "a", a.System.Title(), "b", b.System.Title())}
	switch c.Link {
	case record.LinkOutdoorUnit:
		w.Means, w.Mend = s.language.say("chain-means-outdoor-unit"), []string{s.language.say("chain-mend-outdoor-unit"), s.language.say("chain-mend-wires")}
	case record.LinkIndoorUnit:
		w.Means, w.Mend = s.language.say("chain-means-indoor-unit"), []string{s.language.say("chain-mend-indoor-unit")}
	default:
		w.Means, w.Mend = s.language.say("chain-means-label"), []string{s.language.say("chain-mend-label")}
	}
	return w
}

// doubt says in a sentence what disagrees.
func (s ChainSheet) doubt(c ledger.Conflict) string {
	line, link := s.line(c.Systems[0], c.Link)
	if c.Kind == ledger.LabelDiffers {
		return s.language.say("chain-label-differs", "a", line.System.Title(), "link", s.language.lower(link.Link.Name), "place", link.Place, "label", link.Label)
	}
	var names []string
	for _, id := range c.Systems {
		l, x := s.line(id, c.Link)
		how := s.language.phrase("chain-not-tried")
		if x.State == LinkProved {
			how = s.language.phrase("chain-by-test")
		}
		names = append(names, l.System.Title()+" ("+how+")")
	}
	sentence := "chain-shared"
	if c.Link == record.LinkIndoorUnit || c.Link == record.LinkOutdoorUnit {
		sentence = "chain-shared-zones"
	}
	return s.language.say(sentence, "names", s.language.andList(names), "link", s.language.lower(link.Link.Name), "place", link.Place)
}

// LinkStep returns how a link of a system is proved, with the link as it stands.
func (s *Service) LinkStep(ctx context.Context, system record.SystemID, link string) (ChainSheet, ChainLink, ChainStep, error) {
	p, err := s.whereIs(ctx, "system", string(system))
	if err != nil {
		return ChainSheet{}, ChainLink{}, ChainStep{}, err
	}
	sheet, err := s.Chain(ctx, p.Property.Property)
	if err != nil {
		return ChainSheet{}, ChainLink{}, ChainStep{}, err
	}
	line, x := sheet.line(system, link)
	i := slices.IndexFunc(line.Links, func(l ChainLink) bool { return l.Link.ID == link })
	if i < 0 {
		return ChainSheet{}, ChainLink{}, ChainStep{}, errorf(NotFound, "There is no such link in a chain.")
	}
	return sheet, x, line.step(i), nil
}

// LinkProofs lists how a link can be found out, by test first.
func (s *Service) LinkProofs(link string) []Choice {
	words, _ := chainLinkOf(link)
	var list []Choice
	for _, p := range words.proofs {
		list = append(list, Choice{p.id, p.name.EN})
	}
	return list
}

// LinkHint says what is asked for at a link.
func (s *Service) LinkHint(link string) string {
	words, _ := chainLinkOf(link)
	return words.hint.EN
}

// LinkPlaces lists what of the property could be a link: the units entered, or
// what other findings name.
func LinkPlaces(p *ledger.Property, link string) []Choice {
	var list []Choice
	var places []string // already in the list
	for _, s := range p.Systems {
		for _, u := range s.Units {
			if ledger.LinkOf(u.Kind) == link {
				list = append(list, Choice{string(u.Unit), linkPlace(u, s)})
				places = append(places, strings.ToLower(u.Place))
			}
		}
	}
	for _, s := range p.Systems {
		for _, f := range s.Found {
			if place := strings.ToLower(f.Place); f.Link == link && f.Unit == "" && !slices.Contains(places, place) {
				list = append(list, Choice{f.Place, f.Place})
				places = append(places, place)
			}
		}
	}
	return list
}

// linkPlace names a unit of a system so that it is told from its twin.
func linkPlace(u *ledger.Unit, s *ledger.System) string {
	entered := "entered with " + s.Title()
	if u.Place == "" {
		return entered
	}
	return u.Place + ", " + entered
}

// RecordLink records what was found about a link of a system.
func (s *Service) RecordLink(ctx context.Context, by By, system record.SystemID, in LinkInput) (record.EntryID, error) {
	p, _, err := s.loadSystem(ctx, system)
	if err != nil {
		return "", err
	}
	if _, known := chainLinkOf(in.Link); !known {
		return "", errorf(NotFound, "There is no such link in a chain.")
	}
	var wrong fieldErrors
	event := record.LinkFound{System: system, Link: in.Link, Place: clean(in.Place), How: in.How, By: clean(in.FoundBy), Note: clean(in.Note)}
	places := LinkPlaces(p.Property, in.Link)
	switch i := slices.IndexFunc(places, func(c Choice) bool { return c.ID == in.Known }); {
	case in.Known != "" && i < 0:
		wrong.add("known", Invalid, "That one is not in the list any more. Choose again.")
	case in.Known != "" && event.Place != "":
		wrong.add("place", Invalid, "One of the list is chosen and %q is typed. Choose “Another”, or empty this line.", event.Place)
	case in.Known != "":
		event.Place = in.Known
		if u, _, isUnit := p.Unit(record.UnitID(in.Known)); isUnit {
			event.Unit, event.Place = u.Unit, p.PlaceOf(record.LinkFound{Unit: u.Unit})
		}
	default:
		wrong.needed("place", event.Place, "Say which one it is: choose it, or type its place or number.")
	}
	wrong.oneOf("how", in.How, s.LinkProofs(in.Link), "Say how you know: by which test, or only by the label.")
	if err := wrong.err(); err != nil {
		return "", err
	}
	ids, err := s.write(ctx, by, p, []record.Event{event})
	if err != nil {
		return "", err
	}
	return ids[0], nil
}

// WithdrawLink takes a finding about a link back, or an earlier withdrawal.
func (s *Service) WithdrawLink(ctx context.Context, by By, property record.PropertyID, entry record.EntryID, why string) error {
	p, err := s.knownProperty(ctx, property)
	if err != nil {
		return err
	}
	if root, _ := record.Root(p.envelopes, entry); root != "link-found" {
		return errorf(NotFound, "There is no such finding here.")
	}
	_, err = s.write(ctx, by, p, []record.Event{record.EntryWithdrawn{Entry: entry, Why: clean(why)}})
	return err
}
