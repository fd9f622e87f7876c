package role

import (
	"slices"
	"strings"

	"rung/internal/journal"
	"rung/internal/record"
)

// ofShop holds the kinds of entry that concern the whole shop and stand in
// record.ShopStream, with who may write them.
var ofShop = map[string][]Role{
	"closures-counted":   keeper.Roles,
	"learning-set-aside": keeper.Roles,
	"entry-withdrawn":    keeper.Roles, // of an entry there
}

// ofProperty holds the kinds that stand with a property. Those with nil are
// judged by what they say, see MayWrite.
var ofProperty = map[string][]Role{
	"property-added":        shop.Roles,
	"system-added":          shop.Roles,
	"unit-added":            shop.Roles,
	"visit-opened":          shop.Roles,
	"task-added":            shop.Roles,
	"task-done":             shop.Roles,
	"nameplate-recorded":    field.Roles,
	"link-found":            field.Roles,
	"surroundings-recorded": field.Roles,
	"hazard-noted":          field.Roles,
	"reading-taken":         field.Roles,
	"check-refused":         field.Roles,
	"advice-shown":          field.Roles, // beside a repair, as the next two
	"charge-not-judged":     field.Roles,
	"cause-accepted":        field.Roles,
	"part-replaced":         field.Roles,
	"repair-done":           field.Roles,
	"proof-taken":           field.Roles,
	"note-left":             field.Roles,
	"photo-taken":           field.Roles,
	"photo-marked":          field.Roles,
	"visit-closed":          masters.Roles,
	"recommendation-made":   seniors.Roles,
	"report-shared":         seniors.Roles,
	"statement-settled":     nil,
	"entry-withdrawn":       nil,
}

// Judged reports whether a kind is in the tables. Others are those of a later
// program: they are kept and passed on, whoever wrote them.
func Judged(kind string) bool {
	_, property := ofProperty[kind]
	_, shop := ofShop[kind]
	return property || shop
}

// Writer is who wrote an entry, as he stood when he wrote it.
type Writer struct {
	Name string
	Standing
	// Untold says that his phone had not heard from the office who it is: its
	// readings then bear no role.
	Untold bool
}

// Shop is what an entry is judged by, beside who wrote it.
type Shop struct {
	// Around holds the other entries of its stream.
	Around []journal.Envelope
	// Person returns what somebody is at the unit, by his name; false if nobody of
	// the shop is called so.
	Person func(name string) (record.Person, bool)
}

// MayWrite says why a form of our pages would not have written an entry for
// whoever wrote it, as the end of a sentence; empty if it would. An entry of a
// kind that is not Judged may come from anybody.
func MayWrite(w Writer, e journal.Envelope, in Shop) (why string) {
	if !Judged(e.Kind) {
		return ""
	}
	roles, home := ofProperty[e.Kind], ofProperty
	_, property := record.PropertyOf(e.Stream)
	if !property {
		roles, home = ofShop[e.Kind], ofShop
	}
	if _, there := home[e.Kind]; !there || !property && e.Stream != record.ShopStream {
		return "such an entry does not belong into " + string(e.Stream)
	}
	event, err := record.Decode(e)
	if err != nil {
		return "it cannot be read"
	}
	if roles != nil && !slices.Contains(roles, w.Role) {
		return "such an entry is not for the role " + string(w.Role)
	}
	switch event := event.(type) {
	case record.ReadingTaken:
		return w.reading(event)
	case record.VisitOpened:
		return w.opening(event, in)
	case record.StatementSettled:
		return w.settling(e, event, in)
	case record.EntryWithdrawn:
		if property {
			return w.withdrawing(event, in)
		}
		if kind, direct := record.Root(in.Around, event.Entry); kind != "learning-set-aside" || !direct {
			return "what it takes back is not here, or cannot be taken back"
		}
	case record.Unknown: // a later version: by its kind alone, and where that does not tell, by who answers for it
		if roles == nil && !slices.Contains(masters.Roles, w.Role) {
			return "such an entry is not for the role " + string(w.Role)
		}
	}
	return ""
}

// reading wants a reading to bear the role of who entered it.
func (w Writer) reading(e record.ReadingTaken) string {
	if e.Role == w.Person(w.Name).Role || e.Role == "" && w.Untold {
		return ""
	}
	return "the reading says it is of role “" + e.Role + "”"
}

// opening wants a visit to make nobody more than he is.
func (w Writer) opening(e record.VisitOpened, in Shop) string {
	is, known := w.Person(w.Name), true
	if !strings.EqualFold(e.Who.Name, w.Name) || is.Role == "" {
		if w.Role == Apprentice {
			return "an apprentice opens visits in his own name"
		}
		is, known = in.Person(e.Who.Name)
	}
	switch claimed := e.Who; {
	case !known, is.Role == "":
		return "nobody of the shop who works at a unit is called " + claimed.Name
	case claimed.Role != is.Role && is.Role != "mechanic",
		claimed.Refrigerant && !is.Refrigerant, claimed.Gas && !is.Gas, claimed.Electrician && !is.Electrician:
		return "it gives " + claimed.Name + " a role or licence that he does not have"
	}
	return ""
}

// companions is how a form numbers what the program adds to it of itself: the
// ids that follow from that of the form from the first on.
const (
	firstCompanion = 1000
	mostCompanions = 64
)

// settling wants a dispute to be settled by who answers for the work. Who
// records a further repair, or another value on a plate, in sight of what others
// recorded, says so beside it.
func (w Writer) settling(e journal.Envelope, s record.StatementSettled, in Shop) string {
	if slices.Contains(masters.Roles, w.Role) {
		return ""
	}
	kinds := map[string]string{record.AboutPlate: "nameplate-recorded", record.AboutRepair: "repair-done"}
	for _, form := range in.Around {
		if form.Kind != kinds[s.About] || form.Author != e.Author || form.Device != e.Device || !form.ID.Time().Equal(e.ID.Time()) {
			continue // an id that is derived keeps the moment
		}
		own := record.EntryID(form.ID.String())
		if s.About == record.AboutPlate && s.Stands != own || s.About == record.AboutRepair && s.Stands != "" {
			continue
		}
		for n := range mostCompanions {
			if form.ID.Derive(firstCompanion+n) == e.ID {
				return ""
			}
		}
	}
	return "what is in dispute is settled by a mechanic"
}

// withdrawing asks what is taken back in the end: a withdrawal can be taken back
// too.
func (w Writer) withdrawing(e record.EntryWithdrawn, in Shop) string {
	kind, direct := record.Root(in.Around, e.Entry)
	roles := field.Roles
	switch kind {
	case "":
		return "what it takes back is not here"
	case "property-added", "system-added", "unit-added", "visit-opened":
		return "such an entry cannot be taken back"
	case "visit-closed":
		roles = masters.Roles
	case "report-shared":
		roles = masters.Roles
		if direct {
			roles = seniors.Roles
		}
	}
	if !slices.Contains(roles, w.Role) {
		return "taking that back is not for the role " + string(w.Role)
	}
	return ""
}
