package web

import (
	"context"
	"net/http"
	"net/url"
	"slices"

	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

func (s *Server) proof(w http.ResponseWriter, r *http.Request) error {
	return s.showProof(w, r, nil)
}

// showProof shows what must now hold, and again what was typed if a proof was
// refused.
func (s *Server) showProof(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	r = s.inLanguage(r)
	ctx := r.Context()
	here, err := s.here(r)
	if err != nil {
		return err
	}
	proof, err := s.Visits.Proof(ctx, here.Visit.Visit)
	if err != nil {
		return err
	}
	base := visitPath(here.Visit.Visit)
	p := page.ProofPage{
		Shell: s.shell(r, here, page.Say(ctx, "Proof"), "Proof"), Intro: proof.Intro, Done: proof.Complete, Verdict: proof.Verdict,
		NotJudged: notJudged(proof.NotJudged), Limits: otherLimits(proof), Close: page.Link{Text: page.Say(ctx, "Go to closing"), Href: base + "/close"},
	}
	if p.Undo != nil {
		p.Undo.Hidden = append(p.Undo.Hidden, page.Hidden{Name: "from", Value: fromProof})
	}
	for _, m := range proof.Modes {
		mode := s.proofMode(ctx, base, m)
		if wrong != nil && mode.Record != nil && m.Mode.ID == r.PostForm.Get("mode") {
			mode.Record.Limit.Value, mode.Record.Limit.Error = r.PostForm.Get("limited"), wrong.Error()
			p.Refused = append(p.Refused, mode.Record.Limit)
		}
		p.Modes = append(p.Modes, mode)
	}
	p.Next = nextToRead(ctx, p.Modes)
	if wrong != nil && len(p.Refused) == 0 {
		p.Wrong = wrong.Error()
	}
	return s.render(w, r, formStatus(wrong), page.Proof(p))
}

// nextToRead leads to the first check of a proof that is still to be read, or
// else to the first mode still to be recorded.
func nextToRead(ctx context.Context, modes []page.ProofMode) page.Link {
	for _, m := range modes {
		for _, c := range m.Checks {
			if c.State == page.ProofOpen {
				return page.Link{Text: page.Say(ctx, "Next to read:") + " " + c.Name, Href: c.Href}
			}
		}
	}
	for _, m := range modes {
		if m.Record != nil {
			return page.Link{Text: page.Say(ctx, "All read. Record:") + " " + m.Name, Href: "#" + m.Record.ID}
		}
	}
	return page.Link{}
}

// otherLimits are the limits that do not stand beside their mode already.
func otherLimits(p visit.Proof) []string {
	return slices.DeleteFunc(slices.Clone(p.Limits), func(limit string) bool {
		return slices.ContainsFunc(p.Modes, func(m visit.ProofMode) bool { return m.Limited == limit })
	})
}

var proofStates = map[visit.ProofState]page.ProofState{
	visit.ProofOpen: page.ProofOpen, visit.ProofHolds: page.ProofHolds, visit.ProofFails: page.ProofFails,
	visit.ProofRead: page.ProofRead,
}

func (s *Server) proofMode(ctx context.Context, base string, m visit.ProofMode) page.ProofMode {
	mode := page.ProofMode{Name: capital(m.Mode.Name), How: m.How, Limited: m.Limited}
	read := false
	for _, l := range m.Lines {
		read = read || l.State != visit.ProofOpen
		mode.Checks = append(mode.Checks, page.ProofCheck{
			Name: capital(l.Name), Before: l.Before, After: l.After, Must: l.Must, State: proofStates[l.State],
			Href: base + "/checks/" + url.PathEscape(l.Check) + "?demand=" + url.QueryEscape(l.Demand) + "&from=" + fromProof,
		})
	}
	if m.Recorded {
		mode.Done = page.Say(ctx, "✓ This proof is recorded.")
		return mode
	}
	if read || m.Limited != "" {
		mode.Record = &page.ProofRecord{
			ID: "record-" + m.Mode.ID, Action: base + "/proof", Submit: page.Say(ctx, "Record this proof as it stands"),
			Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}, {Name: "mode", Value: m.Mode.ID}},
			Limit:  page.Field{Name: "limited", Label: page.Say(ctx, "What limited it"), Hint: page.Say(ctx, "Only if not everything could be read: weather, no tenant, no gas."), Suffix: m.Mode.ID},
		}
	}
	return mode
}

func (s *Server) recordProof(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id := record.VisitID(r.PathValue("visit"))
	if err := s.Visits.RecordProof(r.Context(), by, id, visit.ProofInput{Mode: r.PostForm.Get("mode"), Limited: r.PostForm.Get("limited")}); err != nil {
		return s.again(w, r, err, s.showProof)
	}
	return see(w, r, visitPath(id)+"/proof", url.Values{"done": {"proof"}})
}
