package web

import (
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
	plate, err := s.Visits.Plate(r.Context(), u.Unit)
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
		list = append(list, s.dispute(p, d, "Entries differ: "+name+" of the "+strings.ToLower(s.unitName(u)),
			"The latest counts until you say which one is right.", func(x ledger.Statement) string {
				if x.Value == "" {
					return "not known"
				}
				return plateValue(f, x.Value)
			}))
	}
	return list, nil
}

// visitDisputes shows where entries about a visit differ, and about the units of
// its system, on whose plates the advice rests.
func (s *Server) visitDisputes(r *http.Request, here visit.Here) ([]page.Dispute, error) {
	var list []page.Dispute
	for _, d := range here.Visit.Disputes {
		switch d.About {
		case record.AboutRepair:
			list = append(list, s.dispute(here.Property, d, "Repairs were recorded on two phones at once",
				"All of them count until you say which were done.", func(x ledger.Statement) string { return s.repairSaid(here.Visit, x) }))
		case record.AboutClosing:
			list = append(list, s.dispute(here.Property, d, "The visit was closed in two ways",
				"The latest counts until you say which one is right.", func(x ledger.Statement) string { return named(s.Visits.Outcomes(), x.Value) }))
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

// repairSaid names a repair with the parts that went in.
func (s *Server) repairSaid(v *ledger.Visit, x ledger.Statement) string {
	for _, r := range v.Repairs {
		if r.Stamp.Entry != x.Stamp.Entry {
			continue
		}
		text := s.repairName(r)
		for _, part := range r.Parts {
			text = sentence(text, part.In)
		}
		return text
	}
	return plain(x.Value)
}

// dispute makes the form that settles one.
func (s *Server) dispute(p *ledger.Property, d ledger.Dispute, heading, intro string, words func(ledger.Statement) string) page.Dispute {
	x := page.Dispute{Heading: heading, Intro: intro, Action: propertyPath(p.Property) + "/settle",
		Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}, {Name: "about", Value: d.About},
			{Name: "visit", Value: string(d.Visit)}, {Name: "unit", Value: string(d.Unit)}, {Name: "field", Value: d.Field}}}
	suffix := "-" + d.About + d.Field + string(d.Unit)
	x.Stands = page.Field{Kind: page.Choose, Name: "stands", Label: "Which one is right?", Suffix: suffix}
	x.Why = page.Field{Kind: page.Words, Name: "why", Label: "How you know", Hint: "for instance: read the plate again", Suffix: suffix}
	for _, st := range d.Statements {
		x.Hidden = append(x.Hidden, page.Hidden{Name: "seen", Value: string(st.Entry)})
		who := st.Stamp.Author + ", " + s.day(st.Stamp.At) + " " + s.clock(st.Stamp.At)
		x.Stands.Choices = append(x.Stands.Choices, page.Choice{Value: string(st.Stamp.Entry), Label: words(st) + " (" + who + ")"})
	}
	if d.About == record.AboutRepair {
		x.Stands.Label = "Which were done?"
		x.Stands.Choices = append(x.Stands.Choices, page.Choice{Value: settleAll, Label: "All " + strconv.Itoa(len(d.Statements)) + " of them"})
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
