package web

import (
	"context"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"rung/internal/ledger"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// settleAll is sent when every entry in dispute is true.
const settleAll = "all"

// unitDisputes shows where entries about a unit differ.
func (s *Server) unitDisputes(r *http.Request, p *ledger.Property, u *ledger.Unit) ([]page.Dispute, error) {
	if len(u.Disputes) == 0 {
		return nil, nil
	}
	ctx := r.Context()
	plate, err := s.Visits.Plate(ctx, u.Unit)
	if err != nil {
		return nil, err
	}
	fields := map[string]visit.PlateField{}
	for _, f := range plate {
		fields[f.ID] = f
	}
	var list []page.Dispute
	for _, d := range u.Disputes {
		f := fields[d.Field]
		name := f.Name
		if name == "" {
			name = plain(d.Field) // of a later program
		}
		list = append(list, s.dispute(ctx, p, d, differing(ctx, name, u.Kind),
			page.Say(ctx, "The latest counts until you say which one is right."), func(x ledger.Statement) string {
				if x.Value == "" {
					return page.Say(ctx, "not known")
				}
				return plateValue(f, x.Value)
			}))
	}
	return list, nil
}

// visitDisputes shows where entries about a visit differ, and about the units of
// its system, on whose plates the advice rests.
func (s *Server) visitDisputes(r *http.Request, here visit.Here) ([]page.Dispute, error) {
	ctx := r.Context()
	var list []page.Dispute
	for _, d := range here.Visit.Disputes {
		switch d.About {
		case record.AboutRepair:
			list = append(list, s.dispute(ctx, here.Property, d, page.Say(ctx, "Repairs were recorded on two phones at once"),
				page.Say(ctx, "All of them count until you say which were done."), func(x ledger.Statement) string { return s.in(ctx).repairSaid(here.Visit, x) }))
		case record.AboutClosing:
			list = append(list, s.dispute(ctx, here.Property, d, page.Say(ctx, "The visit was closed in two ways"),
				page.Say(ctx, "The latest counts until you say which one is right."), func(x ledger.Statement) string { return visit.LanguageOf(ctx).Answer("outcome", x.Value) }))
		}
	}
	for _, u := range here.System.Units {
		more, err := s.unitDisputes(r, here.Property, u)
		if err != nil {
			return nil, err
		}
		list = append(list, more...)
	}
	return list, nil
}

// difference is a thing on which entries differ, in words.
type difference struct {
	what string // "the rated load amps of the outdoor unit"
	text string // a whole sentence
}

// differences says on what entries of a visit and about the units of its system
// differ, and what was settled.
func (s *Server) differences(ctx context.Context, here visit.Here) (open, settled []difference, err error) {
	add := func(about string, disputes []ledger.Dispute, settlements []ledger.Settlement, what string, words func(ledger.Statement) string) {
		for _, d := range disputes {
			if d.About+d.Field == about {
				open = append(open, difference{what, s.unsettledText(what, d, words)})
			}
		}
		for _, x := range settlements {
			if x.About+x.Field == about {
				settled = append(settled, difference{what, s.settledText(what, x, words)})
			}
		}
	}
	v := here.Visit
	add(record.AboutRepair, v.Disputes, v.Settled, "which repairs were done", func(x ledger.Statement) string { return s.repairSaid(v, x) })
	add(record.AboutClosing, v.Disputes, v.Settled, "how the visit ended", func(x ledger.Statement) string { return named(s.Visits.Outcomes(), x.Value) })
	for _, u := range here.System.Units {
		if len(u.Disputes)+len(u.Settled) == 0 {
			continue
		}
		plate, err := s.Visits.Plate(ctx, u.Unit)
		if err != nil {
			return nil, nil, err
		}
		for _, f := range plate {
			add(record.AboutPlate+f.ID, u.Disputes, u.Settled, "the "+strings.ToLower(f.Name[:1])+f.Name[1:]+" of the "+strings.ToLower(s.unitName(u)), func(x ledger.Statement) string {
				if x.Value == "" {
					return "not known"
				}
				return plateValue(f, x.Value)
			})
		}
	}
	return open, settled, nil
}

// recordsDiffer lists the differences for a paper, those not settled first.
func (s *Server) recordsDiffer(ctx context.Context, here visit.Here) ([]string, error) {
	open, settled, err := s.differences(ctx, here)
	var list []string
	for _, d := range append(open, settled...) {
		list = append(list, d.text)
	}
	return list, err
}

// unsettledText says what stands against each other.
func (s *Server) unsettledText(what string, d ledger.Dispute, words func(ledger.Statement) string) string {
	meanwhile := "The latest counts until it is settled."
	if d.About == record.AboutRepair {
		meanwhile = "All of them count until it is settled."
	}
	return "Not settled: " + what + ". " + s.saidBy(d.Statements, words, " or ") + ". " + meanwhile
}

// settledText says what stands, instead of what, and who says so.
func (s *Server) settledText(what string, x ledger.Settlement, words func(ledger.Statement) string) string {
	text := "Settled: " + what + ". "
	if x.Stands == nil {
		text += "All are right: " + s.saidBy(x.Over, words, " and ")
	} else {
		text += s.saidBy([]ledger.Statement{*x.Stands}, words, "") + " stands"
		if len(x.Over) > 0 {
			text += ", not " + s.saidBy(x.Over, words, " or ")
		}
	}
	text += ". So said " + x.Stamp.Author + ", " + s.moment(x.Stamp.At)
	if x.Why != "" {
		text += ": " + x.Why
	}
	return text + "."
}

// saidBy lists statements with who made them and when, joined by a word.
func (s *Server) saidBy(list []ledger.Statement, words func(ledger.Statement) string, joined string) string {
	var parts []string
	for _, x := range list {
		parts = append(parts, words(x)+" ("+x.Stamp.Author+", "+s.moment(x.Stamp.At)+")")
	}
	return strings.Join(parts, joined)
}

// differing heads a dispute about a field of the nameplate of a unit.
func differing(ctx context.Context, field, unit string) string {
	unit = strings.ToLower(visit.LanguageOf(ctx).Answer("unit-kind", unit))
	if visit.LanguageOf(ctx) != visit.English {
		return page.Say(ctx, "Entries differ:") + " " + field + ", " + unit
	}
	return "Entries differ: " + field + " of the " + unit
}

// repairSaid names a repair with the parts that went in.
func (n names) repairSaid(v *ledger.Visit, x ledger.Statement) string {
	for _, r := range v.Repairs {
		if r.Stamp.Entry != x.Stamp.Entry {
			continue
		}
		text := n.repairName(r)
		for _, part := range r.Parts {
			text = sentence(text, part.In)
		}
		return text
	}
	return plain(x.Value)
}

// dispute makes the form that settles one.
func (s *Server) dispute(ctx context.Context, p *ledger.Property, d ledger.Dispute, heading, intro string, words func(ledger.Statement) string) page.Dispute {
	x := page.Dispute{Heading: heading, Intro: intro, Action: propertyPath(p.Property) + "/settle",
		Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}, {Name: "about", Value: d.About},
			{Name: "visit", Value: string(d.Visit)}, {Name: "unit", Value: string(d.Unit)}, {Name: "field", Value: d.Field}}}
	suffix := "-" + d.About + d.Field + string(d.Unit)
	x.Stands = page.Field{Kind: page.Choose, Name: "stands", Label: page.Say(ctx, "Which one is right?"), Suffix: suffix}
	x.Why = page.Field{Kind: page.Words, Name: "why", Label: page.Say(ctx, "How you know"), Hint: page.Say(ctx, "for instance: read the plate again"), Suffix: suffix}
	for _, st := range d.Statements {
		x.Hidden = append(x.Hidden, page.Hidden{Name: "seen", Value: string(st.Entry)})
		who := st.Stamp.Author + ", " + s.dayIn(ctx, st.Stamp.At) + " " + s.clock(st.Stamp.At)
		x.Stands.Choices = append(x.Stands.Choices, page.Choice{Value: string(st.Stamp.Entry), Label: words(st) + " (" + who + ")"})
	}
	if d.About == record.AboutRepair {
		x.Stands.Label = page.Say(ctx, "Which were done?")
		x.Stands.Choices = append(x.Stands.Choices, page.Choice{Value: settleAll, Label: page.Say(ctx, "All") + " " + strconv.Itoa(len(d.Statements)) + " " + page.Say(ctx, "of them")})
	}
	return x
}

// settle records which entry stands.
func (s *Server) settle(w http.ResponseWriter, r *http.Request) error {
	in := visit.SettleInput{About: r.PostForm.Get("about"), Visit: record.VisitID(r.PostForm.Get("visit")), Unit: record.UnitID(r.PostForm.Get("unit")),
		Field: r.PostForm.Get("field"), Why: r.PostForm.Get("why")}
	if stands := r.PostForm.Get("stands"); stands == settleAll {
		in.All = true
	} else {
		in.Stands = record.EntryID(stands)
	}
	for _, id := range r.PostForm["seen"] {
		in.Seen = append(in.Seen, record.EntryID(id))
	}
	if err := s.Visits.Settle(r.Context(), s.by(r), record.PropertyID(r.PathValue("property")), in); err != nil {
		return err
	}
	to := visitPath(in.Visit)
	if in.About == record.AboutPlate {
		to = unitPath(in.Unit)
	}
	return see(w, r, to, url.Values{"done": {"settled"}})
}
