package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"rung/internal/ledger"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

const learnedPath = "/learned"

func (s *Server) learned(w http.ResponseWriter, r *http.Request) error {
	return s.showLearned(w, r, nil)
}

// showLearned shows what the shop's closed calls do to the odds, and how to set
// that aside.
func (s *Server) showLearned(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	l, err := s.Visits.Learned(r.Context(), r.URL.Query().Get("kind"))
	if err != nil {
		return err
	}
	f := fill(map[string]string{"kind": l.Kind.ID, "what": "all"}, r.PostForm, wrong)
	kind := page.Field{Kind: page.Pick, Name: "kind", Label: "Kind of system", Value: l.Kind.ID}
	for _, c := range s.Visits.SystemKinds() {
		kind.Choices = append(kind.Choices, page.Choice{Value: c.ID, Label: c.Name})
	}
	p := page.LearnedPage{
		Shell: page.Shell{Title: "What your calls taught", Back: page.Link{Text: "Start", Href: "/"}, Notice: notices[r.URL.Query().Get("done")]},
		Kind:  kind,
		How: []string{
			"Every visit begins with odds for each cause. They start from the catalogue, and every call of yours that was closed as fixed moves them a little: one whole call if before and after prove it, half a call without the whole proof, nothing if the system was repaired again within 30 days. What was only advised never counts.",
			"A call counts from the 31st day after its closing, and a visit keeps the odds of the day on which it was opened. Shares below are of 100 calls, before the complaint and any reading.",
		},
		Aside: page.FormPage{Action: learnedPath + "/aside", Submit: "Count from today on", Hidden: []page.Hidden{s.formID(r.PostForm, wrong)},
			Sets: []page.FieldSet{{Intro: "Calls closed before now then no longer count for it. Nothing is deleted.",
				Fields: []page.Field{asideChoice(f), needed(f.words("why", "Why", "For instance: another part of town, other equipment."))}}}},
		Wrong: f.rest(),
	}
	if _, _, err := s.office(); err == nil {
		p.Phone = "This phone holds only some of the calls. It goes by what the office last gave out: setting aside and giving out are done there."
	}
	p.Share = page.Undo{Action: learnedPath + "/share", Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}}}
	p.Shared = "Not given to the phones yet."
	if !l.Shared.IsZero() {
		p.Shared = "Last given to the phones on " + s.day(l.Shared) + "."
	}
	for _, side := range l.Sides {
		p.Sides = append(p.Sides, learnedSide(side))
	}
	if l.Waiting > 0 {
		p.State = count(l.Waiting, "closed call waits", "closed calls wait") + " for the 31st day."
	}
	if a := l.Aside; a != nil {
		p.State = sentence("Only calls closed since "+s.day(a.Stamp.At)+" count: set aside by "+a.Stamp.Author+", “"+a.Why+"”.", p.State)
	}
	for _, t := range l.Topics {
		p.Topics = append(p.Topics, s.learnedTopic(t))
	}
	for _, a := range l.Asides {
		p.Agains = append(p.Agains, s.learnedAside(a))
	}
	return s.render(w, r, formStatus(wrong), page.Learned(p))
}

func learnedSide(x visit.LearnedSide) page.LearnedSide {
	why := "one for each cause, until you have 100"
	if x.Chosen {
		why = "which makes your own calls likeliest"
	}
	side := page.LearnedSide{Heading: x.Name, Intro: fmt.Sprintf("%s calls of your own on these %d causes; the catalogue weighs as much as %s calls (%s).", halves(x.Closures), len(x.Lines), halves(x.Stands), why)}
	for _, l := range x.Lines {
		line := page.LearnedLine{Name: l.Name, Origin: l.Origin, Base: ofHundred(l.Base), Closures: halves(l.Closures), Now: ofHundred(l.Now)}
		if l.Closures > 0 {
			side.Met = append(side.Met, line)
		} else {
			side.Others = append(side.Others, line)
		}
	}
	return side
}

// asideChoice asks what is to be set aside.
func asideChoice(f *filling) page.Field {
	choices := []visit.Choice{{ID: "all", Name: "Everything learned"}}
	for _, t := range learnedTopics {
		choices = append(choices, visit.Choice{ID: t.id, Name: t.name})
		if t.id == "age" {
			choices = append(choices, visit.Choice{ID: ageOff, Name: "Age, and switch it off"})
		}
	}
	field := f.choose("what", "What", "", choices)
	field.Kind = page.Pick
	return field
}

// ageOff is the choice that switches off what age does.
const ageOff = "age-off"

// learnedTopics say what is learned, and how.
var learnedTopics = []struct{ id, name, how string }{
	{"causes", "Shares of causes, of sound systems and of causes outside the list", "How often a call ends with nothing found, or with a repair for a cause that is not in the list, and how often one fault brought another along. The default of a share weighs as much as 100 calls, of a pair 50."},
	{"age", "Age", "How much likelier a part fails at twenty years than at ten, by a Weibull hazard of the shape given; twice or half at most. The shapes are common judgement without a source. Your own calls move them, if the year stands on the plate; a part replaced since counts from then."},
	{"season", "Season", "Which causes come oftener in which months, among the calls for cooling, for heat, and others. Nothing is assumed, and nothing told before fifty calls; twice or half at most."},
	{"minutes", "Minutes", "What a check or a repair takes: from entry to entry of one person on one visit, against the listed minutes and the setting up that it needed. Entries typed in a row, later, or after an hour’s pause (four for a repair) tell none. From five timings on they count, for mechanics and apprentices apart, and from ten on a person’s own pace. It only orders what is advised. It is no measure of anybody’s work."},
	{"readings", "Wrong readings", "How often a reading is wrong: of those read twice, or on a visit whose cause was proved. Two of the same point further apart than the meter scatters count as one wrong. Half or twice the default at most, for what nobody repeats may be wrong too."},
	{"proofs", "False proofs", "How often before and after looked proved, and the system was repaired again within 30 days all the same."},
}

func topicName(id string) string {
	for _, t := range learnedTopics {
		if t.id == id {
			return t.name
		}
	}
	return "Everything learned"
}

func (s *Server) learnedTopic(t visit.LearnedTopic) page.LearnedTopic {
	topic := page.LearnedTopic{Heading: t.Name}
	for _, x := range learnedTopics {
		if x.id == t.ID {
			topic.Heading, topic.Intro = x.name, x.how
		}
	}
	switch a := t.Aside; {
	case t.Off:
		topic.State = "Switched off by " + a.Stamp.Author + " on " + s.day(a.Stamp.At) + ": nothing of it counts."
	case a != nil:
		topic.State = "Of calls closed since " + s.day(a.Stamp.At) + " alone: set aside by " + a.Stamp.Author + "."
	}
	for _, l := range t.Lines {
		topic.Lines = append(topic.Lines, page.TopicLine{Of: l.Of, Begin: l.Begin, Now: l.Now, Count: l.Count, Weight: strconv.FormatFloat(100*l.Weight, 'f', 0, 64) + " %"})
	}
	return topic
}

func (s *Server) learnedAside(a ledger.SetAside) page.LearnedAside {
	name, again := topicName(a.What), "Count the earlier calls again"
	if a.What != "" {
		again = "Count again: " + strings.ToLower(name[:1]) + name[1:]
	}
	verb := "set aside"
	if a.Off {
		verb = "switched off"
	}
	return page.LearnedAside{Text: name + ", " + verb + " by " + a.Stamp.Author + " on " + s.day(a.Stamp.At) + ": “" + a.Why + "”.", Again: again,
		Undo: page.Undo{Action: learnedPath + "/again", Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}, {Name: "entry", Value: string(a.Stamp.Entry)}}}}
}

func halves(n float64) string        { return strconv.FormatFloat(n, 'f', -1, 64) }
func ofHundred(share float64) string { return strconv.FormatFloat(100*share, 'f', 1, 64) }

func (s *Server) setLearningAside(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	err := s.atOffice()
	if err == nil {
		what, off := r.PostForm.Get("what"), false
		switch what {
		case "all":
			what = ""
		case ageOff:
			what, off = "age", true
		}
		err = s.Visits.SetLearningAside(r.Context(), by, what, off, r.PostForm.Get("why"))
	}
	if err != nil {
		return s.again(w, r, err, s.showLearned)
	}
	return see(w, r, learnedPath, url.Values{"done": {"learning-aside"}})
}

// atOffice refuses on a phone what concerns the whole shop.
func (s *Server) atOffice() error {
	if _, _, err := s.office(); err == nil {
		return &visit.Error{Kind: visit.Denied, Message: "That is done at the office: this phone holds only some of the calls."}
	}
	return nil
}

func (s *Server) shareCounts(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	err := s.atOffice()
	if err == nil {
		err = s.Visits.ShareCounts(r.Context(), by)
	}
	if err != nil {
		return s.again(w, r, err, s.showLearned)
	}
	return see(w, r, learnedPath, url.Values{"done": {"learning-shared"}})
}

func (s *Server) countAgain(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	err := s.atOffice()
	if err == nil {
		err = s.Visits.CountAgain(r.Context(), by, record.EntryID(r.PostForm.Get("entry")))
	}
	if err != nil {
		return s.again(w, r, err, s.showLearned)
	}
	return see(w, r, learnedPath, url.Values{"done": {"learning-again"}})
}
