package office

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"rung/internal/account"
	"rung/internal/exchange"
	"rung/internal/journal"
	"rung/internal/record"
	"rung/internal/role"
)

// Meet implements exchange.Registrar: it notes under which name a phone writes,
// and what it is told about its person. If the answer is lost on its way the phone
// was told nothing: what it writes then in a role that it has no more is kept
// aside, and nothing is lost.
func (s *Server) Meet(ctx context.Context, by exchange.Grant, name, mark string) (*exchange.Standing, error) {
	a, err := s.Book.Account(ctx, by.Author)
	if err != nil {
		return nil, err
	}
	people, err := s.workers(ctx)
	if err != nil {
		return nil, err
	}
	now := exchange.Standing{Device: by.Device, Author: a.Name, Standing: a.Standing, Revoked: by.HandInOnly, People: people}.Marked()
	id := strings.ToUpper(strings.TrimPrefix(by.Device, account.Phone{}.Device()))
	if err := errors.Join(s.Book.Name(ctx, id, name), s.Book.Tell(ctx, id, a.Standing, by.HandInOnly)); err != nil {
		return nil, err
	}
	if now.Mark == mark {
		return nil, nil
	}
	return &now, nil
}

// workers lists who works at a unit.
func (s *Server) workers(ctx context.Context) ([]record.Person, error) {
	people, err := s.People(ctx)
	return slices.DeleteFunc(people, func(p record.Person) bool { return p.Role == "" }), err
}

// Judge implements exchange.Registrar. An entry comes in if the phone that it
// was written on is one of the shop's, its author is the person of that phone,
// who might write it as he stood then, and neither was out of the shop by then.
// Whether that phone brings it itself or another passes it on makes no
// difference: a phone that is in a river cannot bring its own.
func (s *Server) Judge(ctx context.Context, by exchange.Grant, offered []journal.Envelope, stream func(context.Context, journal.Stream) ([]journal.Envelope, error)) ([]exchange.Verdict, error) {
	j := judge{by: by, server: s.Book.Device, stream: stream, named: map[string][]account.Phone{}, kept: map[journal.Stream][]journal.Envelope{}}
	var err error
	if j.phones, err = s.Book.Phones(ctx); err != nil {
		return nil, err
	}
	if j.people, err = s.Book.List(ctx); err != nil {
		return nil, err
	}
	verdicts := make([]exchange.Verdict, len(offered))
	for i, e := range offered {
		if verdicts[i].Why, err = j.entry(ctx, e); err != nil {
			return nil, err
		}
		own := j.writers(e.Device)
		verdicts[i].Passed = len(own) == 0 || own[0].Device() != by.Device
		if verdicts[i].Why == "" { // what comes with it may be about it
			if _, err := j.around(ctx, e.Stream); err != nil {
				return nil, err
			}
			j.kept[e.Stream] = append(j.kept[e.Stream], e)
		}
	}
	return verdicts, nil
}

// judge judges what one device brings at once.
type judge struct {
	by     exchange.Grant
	server string // name of this server in the journal
	phones []account.Phone
	people []account.Account
	named  map[string][]account.Phone // as far as they were looked for
	stream func(context.Context, journal.Stream) ([]journal.Envelope, error)
	kept   map[journal.Stream][]journal.Envelope // with what comes in now
}

// entry says in a sentence why an entry may not come in; empty if it may.
func (j *judge) entry(ctx context.Context, e journal.Envelope) (string, error) {
	if e.Device == j.server {
		return "It says it was written at the office, which does not have it. After the office was restored from an older copy that is so.", nil
	}
	phones := j.writers(e.Device)
	if len(phones) == 0 {
		return "It was written on “" + e.Device + "”, which is no phone of the shop.", nil
	}
	var first string
	for _, p := range phones {
		why, err := j.on(ctx, p, e)
		if why == "" || err != nil {
			return "", err
		}
		first = cmp.Or(first, why)
	}
	return first, nil
}

// writers returns the phones that write under a name, that which brings the
// entries first: of several reasons its own is told.
func (j *judge) writers(device string) []account.Phone {
	list, known := j.named[device]
	if known {
		return list
	}
	for _, p := range j.phones {
		switch {
		case !p.Writes(device):
		case p.Device() == j.by.Device:
			list = append([]account.Phone{p}, list...)
		default:
			list = append(list, p)
		}
	}
	j.named[device] = list
	return list
}

// on judges an entry as one that was written on a phone.
func (j *judge) on(ctx context.Context, p account.Phone, e journal.Envelope) (string, error) {
	i := slices.IndexFunc(j.people, func(a account.Account) bool { return a.Key == p.Account })
	if i < 0 {
		return "The person of that phone has no account.", nil
	}
	a, at := j.people[i], e.Time.Wall()
	switch {
	case !sameName(e.Author, a.Name):
		return "The phone it was written on is " + a.Name + "’s, and it says it is by " + cmp.Or(e.Author, "nobody") + ".", nil
	case p.Ended(a, at):
		return "It was written after the phone was revoked or the account closed.", nil
	}
	standings, untold := p.At(at)
	if len(standings) == 0 {
		return "The phone it was written on has not exchanged with the office yet.", nil
	}
	around, err := j.around(ctx, e.Stream)
	if err != nil {
		return "", err
	}
	var why string
	for _, s := range standings {
		w := role.Writer{Name: a.Name, Standing: s, Untold: untold}
		if why = role.MayWrite(w, e, role.Shop{Around: around, Person: j.person(at)}); why == "" {
			return "", nil
		}
	}
	return "Of " + a.Name + ": " + why + ".", nil
}

// around returns the entries of a stream, with those that come in now.
func (j *judge) around(ctx context.Context, s journal.Stream) ([]journal.Envelope, error) {
	if list, read := j.kept[s]; read {
		return list, nil
	}
	list, err := j.stream(ctx, s)
	j.kept[s] = slices.Clone(list)
	return j.kept[s], err
}

// person finds who is called so, as he stands now, also one who has left since.
func (j *judge) person(at time.Time) func(string) (record.Person, bool) {
	return func(name string) (record.Person, bool) {
		i := slices.IndexFunc(j.people, func(a account.Account) bool { return sameName(a.Name, name) })
		if i < 0 || j.people[i].Closed != nil && j.people[i].Closed.Before(at) {
			return record.Person{}, false
		}
		return j.people[i].Person(), true
	}
}

func sameName(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}
