package account

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"rung/internal/journal"
)

// The purposes of a code.
const (
	forPhone = "phone"
	forOwner = "first-owner"
)

// How long codes can be used.
//
// practice: a phone is at hand when its code is made; the first owner reads the
// address off the server's screen on the day it is set up.
const (
	phoneCodeLife = 10 * time.Minute
	ownerCodeLife = 24 * time.Hour
)

func (b *Book) makeCode(ctx context.Context, by string, c codeMade) (string, error) {
	code, err := newToken(b.Random)
	if err != nil {
		return "", err
	}
	return code, b.append(ctx, b.entry(b.IDs.Next(), journal.Stream(codeStream+hashToken(code)), nil, by, "code-made", c))
}

// code returns what a code is for; ErrCode if it is for something else, too old
// or used.
func (b *Book) code(ctx context.Context, code, purpose string) (codeMade, []journal.Envelope, error) {
	envelopes, err := b.Log.Stream(ctx, journal.Stream(codeStream+hashToken(code)))
	if err != nil {
		return codeMade{}, nil, fmt.Errorf("account: %w", err)
	}
	var made codeMade
	for _, env := range envelopes {
		event, err := decode(env)
		if err != nil {
			return codeMade{}, nil, err
		}
		switch event := event.(type) {
		case *codeMade:
			made = *event
		case *codeUsed:
			return codeMade{}, nil, ErrCode
		}
	}
	if made.Purpose != purpose || b.Now().After(made.Expires) {
		return codeMade{}, nil, ErrCode
	}
	return made, envelopes, nil
}

// using returns the entry that uses a code up. Its id hangs on the code alone
// and its content differs at every try, so that of two uses at once, on whatever
// servers, the store takes one.
func (b *Book) using(envelopes []journal.Envelope, by string) journal.Envelope {
	return b.entry(envelopes[0].ID.Derive(1), envelopes[0].Stream, envelopes, by, "code-used", codeUsed{b.IDs.Next().String()})
}

// PhoneCode makes a code with which one phone can be enrolled for a person, once
// and within ten minutes.
func (b *Book) PhoneCode(ctx context.Context, by, name string) (code string, until time.Time, err error) {
	a, err := b.Account(ctx, name)
	if err != nil {
		return "", until, err
	}
	if a.Disabled {
		return "", until, ErrUnknown
	}
	until = b.Now().Add(phoneCodeLife)
	code, err = b.makeCode(ctx, by, codeMade{forPhone, a.Key, until})
	return code, until, err
}

// PhoneCodeFor returns the person for whom a code enrols a phone; ErrCode if the
// code cannot be used.
func (b *Book) PhoneCodeFor(ctx context.Context, code string) (Account, error) {
	made, _, err := b.code(ctx, code, forPhone)
	if err != nil {
		return Account{}, err
	}
	a, _, err := b.account(ctx, made.Account)
	if err == nil && a.Disabled {
		err = ErrCode
	}
	return a, err
}

// Enrol turns a code into a phone and returns the phone with its secret, which
// is kept nowhere.
func (b *Book) Enrol(ctx context.Context, code, label string) (token string, p Phone, err error) {
	a, err := b.PhoneCodeFor(ctx, code)
	if err != nil {
		return "", p, err
	}
	if label = strings.Join(strings.Fields(label), " "); label == "" {
		label = a.Name
	}
	if utf8.RuneCountInString(label) > mostLabel {
		return "", p, &InputError{"label", fmt.Sprintf("The name of the phone has more than %d letters.", mostLabel)}
	}
	_, envelopes, err := b.code(ctx, code, forPhone)
	if err != nil {
		return "", p, err
	}
	if token, err = newToken(b.Random); err != nil {
		return "", p, err
	}
	stream := journal.Stream(phoneStream + hashToken(token))
	enrolled := b.entry(b.IDs.Next(), stream, nil, a.Name, "phone-enrolled", phoneEnrolled{a.Key, label})
	err = b.append(ctx, b.using(envelopes, a.Name), enrolled)
	if errors.Is(err, journal.ErrConflict) {
		return "", p, ErrCode
	}
	if err != nil {
		return "", p, err
	}
	p, _, err = foldPhone(hashToken(token), []journal.Envelope{enrolled})
	return token, p, err
}

// Phone returns the phone of a secret and its person; ErrDenied if there is
// none.
func (b *Book) Phone(ctx context.Context, token string) (Phone, Account, error) {
	hash := hashToken(token)
	envelopes, err := b.Log.Stream(ctx, journal.Stream(phoneStream+hash))
	if err != nil {
		return Phone{}, Account{}, fmt.Errorf("account: %w", err)
	}
	p, found, err := foldPhone(hash, envelopes)
	if err == nil && !found {
		err = ErrDenied
	}
	if err != nil {
		return Phone{}, Account{}, err
	}
	a, _, err := b.account(ctx, p.Account)
	return p, a, err
}

// Grant returns what the phone of a secret may do; ErrDenied if there is none.
func (b *Book) Grant(ctx context.Context, token string) (Grant, error) {
	p, a, err := b.Phone(ctx, token)
	if err != nil {
		return Grant{}, err
	}
	return Grant{Device: p.Device(), Author: a.Name, Send: true, Receive: p.Revoked == nil && !a.Disabled}, nil
}

// Revoke takes a phone's right to receive away, for good: a phone that is found
// again is enrolled anew. ErrUnknown if there is no phone of this id.
func (b *Book) Revoke(ctx context.Context, by, id string) error {
	return b.changePhone(ctx, by, id, func(p Phone) (string, any) {
		if p.Revoked != nil {
			return "", nil
		}
		return "phone-revoked", phoneRevoked{}
	})
}

// changePhone appends an entry about a phone; what do returns without a kind
// changes nothing. ErrUnknown if there is no phone of this id.
func (b *Book) changePhone(ctx context.Context, by, id string, do func(Phone) (kind string, event any)) error {
	phones, err := b.Phones(ctx)
	if err != nil {
		return err
	}
	for _, p := range phones {
		if p.ID != id {
			continue
		}
		kind, event := do(p)
		if kind == "" {
			return nil
		}
		stream := journal.Stream(phoneStream + p.token)
		envelopes, err := b.Log.Stream(ctx, stream)
		if err != nil {
			return fmt.Errorf("account: %w", err)
		}
		return b.append(ctx, b.entry(b.IDs.Next(), stream, envelopes, by, kind, event))
	}
	return ErrUnknown
}

// mostNames is how many names a phone may go by: each time it is set up anew it
// has another.
const mostNames = 50

// Name notes that a phone writes its entries under a name. The name of a server,
// or of a phone in use of another person, is not taken: what comes under it is
// then by nobody known.
func (b *Book) Name(ctx context.Context, id, name string) error {
	if name == "" || name == b.Device {
		return nil
	}
	phones, err := b.Phones(ctx)
	if err != nil {
		return err
	}
	return b.changePhone(ctx, "", id, func(p Phone) (string, any) {
		taken := slices.ContainsFunc(phones, func(x Phone) bool {
			return x.Account != p.Account && x.Revoked == nil && x.Writes(name)
		})
		if taken || p.Writes(name) || len(p.Names) >= mostNames {
			return "", nil
		}
		return "phone-named", phoneNamed{name}
	})
}

// Tell notes what a phone is told about its person now. It is the same as before
// nearly always, and then nothing is noted.
func (b *Book) Tell(ctx context.Context, id string, s Standing, revoked bool) error {
	return b.changePhone(ctx, "", id, func(p Phone) (string, any) {
		if n := len(p.Told); n > 0 && p.Told[n-1].Standing == s && p.Told[n-1].Revoked == revoked {
			return "", nil
		}
		return "phone-told", phoneTold{s, revoked}
	})
}

// OwnerCode makes a code with which the first owner can be made, once and within
// a day.
func (b *Book) OwnerCode(ctx context.Context) (string, error) {
	return b.makeCode(ctx, "", codeMade{Purpose: forOwner, Expires: b.Now().Add(ownerCodeLife)})
}

// FirstOwner makes the first account; ErrCode if the code cannot be used or
// there is an account already.
func (b *Book) FirstOwner(ctx context.Context, code, name, password string) (Account, error) {
	_, envelopes, err := b.code(ctx, code, forOwner)
	if err != nil {
		return Account{}, err
	}
	if any, err := b.Any(ctx); any || err != nil {
		return Account{}, errors.Join(err, ErrCode)
	}
	name, err = checkName(name)
	if err == nil {
		err = checkPassword(name, password)
	}
	if err != nil {
		return Account{}, err
	}
	if err := b.append(ctx, b.using(envelopes, name)); errors.Is(err, journal.ErrConflict) {
		return Account{}, ErrCode
	} else if err != nil {
		return Account{}, err
	}
	return b.Add(ctx, name, name, Standing{Role: Owner}, password)
}
