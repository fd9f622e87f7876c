package account

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"rung/internal/journal"
)

// Errors of a Book. A mistake in what a person typed is an *InputError.
var (
	ErrDenied  = errors.New("name and password do not fit, or the account is closed")
	ErrUnknown = errors.New("there is no such account")
	ErrTaken   = errors.New("there is an account of this name already")
	ErrCode    = errors.New("this code is not known, was used already, or is too old")
	ErrLast    = errors.New("the last owner must stay one: make another owner first")
)

// InputError says what is wrong with something that was typed, and what to do.
type InputError struct{ Field, Message string }

func (e *InputError) Error() string { return e.Message }

// Config is what a Book works with.
type Config struct {
	// Log is the journal of the accounts; it must keep the lists of Summary.
	Log    journal.Log
	Now    func() time.Time
	IDs    *journal.IDSource
	Random io.Reader // of secrets: crypto/rand.Reader in earnest
	Device string    // this server
	Cost   Cost      // of passwords; zero is DefaultCost
}

// Book is the use of accounts. It holds no state of its own, so several servers
// over one journal see the same, and several goroutines may use it.
type Book struct {
	Config
	clock  *journal.Clock
	hasher *hasher
}

// New returns a book over a journal of accounts.
func New(c Config) *Book {
	if c.Cost == (Cost{}) {
		c.Cost = DefaultCost
	}
	return &Book{c, journal.NewClock(c.Now), newHasher(c.Cost, c.Random)}
}

// entry makes an entry of a stream, later than those already in it.
func (b *Book) entry(id journal.ID, s journal.Stream, after []journal.Envelope, by, kind string, event any) journal.Envelope {
	for _, e := range after {
		b.clock.Observe(e.Time)
	}
	return encode(journal.Envelope{ID: id, Stream: s, Device: b.Device, Time: b.clock.Next(), Author: by}, kind, event)
}

func (b *Book) append(ctx context.Context, batch ...journal.Envelope) error {
	if err := b.Log.Append(ctx, batch); err != nil {
		return fmt.Errorf("account: %w", err)
	}
	return nil
}

// onlyID returns the id of an entry of which there can be one for a text.
func onlyID(text string) journal.ID {
	h := sha256.Sum256([]byte(text))
	return journal.ID(h[:16])
}

// account loads an account with its entries; ErrUnknown if there is none.
func (b *Book) account(ctx context.Context, key string) (Account, []journal.Envelope, error) {
	envelopes, err := b.Log.Stream(ctx, journal.Stream(accountStream+key))
	if err != nil {
		return Account{}, nil, fmt.Errorf("account: %w", err)
	}
	a, found, err := foldAccount(key, envelopes)
	if err == nil && !found {
		err = ErrUnknown
	}
	return a, envelopes, err
}

// Account returns the account of a name; ErrUnknown if there is none.
func (b *Book) Account(ctx context.Context, name string) (Account, error) {
	a, _, err := b.account(ctx, keyOf(name))
	return a, err
}

// Any reports whether there is any account.
func (b *Book) Any(ctx context.Context) (bool, error) {
	list, err := b.List(ctx)
	return len(list) > 0, err
}

// List returns all accounts by name.
func (b *Book) List(ctx context.Context) ([]Account, error) {
	return list[Account](ctx, b, listAccounts)
}

func list[T any](ctx context.Context, b *Book, name string) ([]T, error) {
	rows, err := b.Log.Rows(ctx, name, "")
	if err != nil {
		return nil, fmt.Errorf("account: %w", err)
	}
	all := make([]T, len(rows))
	for i, r := range rows {
		if err := json.Unmarshal(r.Value, &all[i]); err != nil {
			return nil, fmt.Errorf("account: list %s: %w", name, err)
		}
	}
	return all, nil
}

// Limits of what is typed.
//
// practice: ten letters of a person's choosing, with guesses slowed down on both
// ends; names as long as names are.
const (
	leastPassword = 10
	mostPassword  = 200
	mostName      = 60 // letters
	mostLabel     = 60
)

func checkName(name string) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	switch {
	case name == "":
		return "", &InputError{"name", "Give the name that shall stand beside the entries."}
	case !utf8.ValidString(name) || utf8.RuneCountInString(name) > mostName || strings.ContainsFunc(name, func(r rune) bool { return r < ' ' || r == 0x7f }):
		return "", &InputError{"name", fmt.Sprintf("The name has more than %d letters, or some that cannot be written.", mostName)}
	}
	return name, nil
}

func checkPassword(name, password string) error {
	switch n := utf8.RuneCountInString(password); {
	case n < leastPassword:
		return &InputError{"password", fmt.Sprintf("The password needs %d characters or more. A few words in a row are good.", leastPassword)}
	case n > mostPassword:
		return &InputError{"password", fmt.Sprintf("The password has more than %d characters.", mostPassword)}
	case keyOf(password) == keyOf(name):
		return &InputError{"password", "The password must not be the name."}
	}
	return nil
}

func checkRole(r Role) error {
	if !r.Valid() {
		return &InputError{"role", "Choose owner, mechanic, apprentice or office."}
	}
	return nil
}

// Add makes an account, by whom; ErrTaken if the name is in use.
func (b *Book) Add(ctx context.Context, by, name string, s Standing, password string) (Account, error) {
	name, err := checkName(name)
	if err = errors.Join(err, checkRole(s.Role)); err == nil {
		err = checkPassword(name, password)
	}
	if err != nil {
		return Account{}, err
	}
	if any, err := b.Any(ctx); err != nil {
		return Account{}, err
	} else if !any && s.Role != Owner {
		return Account{}, &InputError{"role", "The first account must be an owner's."}
	}
	hash, err := b.hasher.hash(ctx, password)
	if err != nil {
		return Account{}, err
	}
	key := keyOf(name)
	stream := journal.Stream(accountStream + key)
	added := b.entry(onlyID(string(stream)), stream, nil, by, "account-added", accountAdded{name, s})
	err = b.append(ctx, added, b.entry(b.IDs.Next(), stream, nil, by, "password-set", passwordSet{hash}))
	if errors.Is(err, journal.ErrConflict) {
		err = ErrTaken
	}
	if err != nil {
		return Account{}, err
	}
	return b.Account(ctx, name)
}

// change appends an entry to the stream of an account.
func (b *Book) change(ctx context.Context, by, name, kind string, event any) error {
	a, envelopes, err := b.account(ctx, keyOf(name))
	if err != nil {
		return err
	}
	return b.append(ctx, b.entry(b.IDs.Next(), journal.Stream(accountStream+a.Key), envelopes, by, kind, event))
}

// SetStanding changes role and licences. The last owner keeps his role.
func (b *Book) SetStanding(ctx context.Context, by, name string, s Standing) error {
	if err := checkRole(s.Role); err != nil {
		return err
	}
	if s.Role != Owner {
		if err := b.notLast(ctx, name); err != nil {
			return err
		}
	}
	return b.change(ctx, by, name, "standing-set", standingSet{s})
}

// Disable closes an account: its sessions end, and its phones receive nothing
// more. enabled opens it again. The last owner cannot be closed.
func (b *Book) Disable(ctx context.Context, by, name string, enabled bool) error {
	if !enabled {
		if err := b.notLast(ctx, name); err != nil {
			return err
		}
	}
	return b.change(ctx, by, name, "account-disabled", accountDisabled{Enabled: enabled})
}

// notLast returns ErrLast if the account is the only owner left. Two owners who
// close each other at the same moment on two servers are not kept from it: the
// command line on the server makes a new one.
func (b *Book) notLast(ctx context.Context, name string) error {
	all, err := b.List(ctx)
	if err != nil {
		return err
	}
	others, is := 0, false
	for _, a := range all {
		if a.Role != Owner || a.Disabled {
			continue
		}
		if a.Key == keyOf(name) {
			is = true
		} else {
			others++
		}
	}
	if is && others == 0 {
		return ErrLast
	}
	return nil
}

// SetPassword changes a password and so ends every session of the account.
func (b *Book) SetPassword(ctx context.Context, by, name, password string) error {
	if err := checkPassword(name, password); err != nil {
		return err
	}
	hash, err := b.hasher.hash(ctx, password)
	if err != nil {
		return err
	}
	return b.change(ctx, by, name, "password-set", passwordSet{hash})
}

// CheckPassword returns the account of a name if the password is its own, else
// ErrDenied, in the same time whether the name is known or not.
func (b *Book) CheckPassword(ctx context.Context, name, password string) (Account, error) {
	a, err := b.Account(ctx, name)
	if err != nil && !errors.Is(err, ErrUnknown) {
		return Account{}, err
	}
	if utf8.RuneCountInString(password) > mostPassword {
		return Account{}, ErrDenied
	}
	ok, err := b.hasher.matches(ctx, password, a.password.hash)
	if err != nil {
		return Account{}, err
	}
	if !ok || a.Disabled {
		return Account{}, ErrDenied
	}
	return a, nil
}

// OpenSession opens a session of an account and returns its secret, which is
// kept nowhere.
func (b *Book) OpenSession(ctx context.Context, a Account) (token string, err error) {
	if token, err = newToken(b.Random); err != nil {
		return "", err
	}
	s := journal.Stream(sessionStream + hashToken(token))
	return token, b.append(ctx, b.entry(b.IDs.Next(), s, nil, a.Name, "session-opened", sessionOpened{a.Key, a.password.entry}))
}

// Lifetime is how long a session lasts, and a phone's cookie.
//
// practice: half a year; a phone in daily use must not be locked out on a roof.
const Lifetime = 180 * 24 * time.Hour

// Session returns the account of a session; ErrDenied if there is none, it has
// ended or is too old, or the account was closed or got another password.
func (b *Book) Session(ctx context.Context, token string) (Account, error) {
	opened, ended, envelopes, err := b.session(ctx, token)
	if err != nil {
		return Account{}, err
	}
	if opened == nil || ended || b.Now().After(envelopes[0].Time.Wall().Add(Lifetime)) {
		return Account{}, ErrDenied
	}
	a, _, err := b.account(ctx, opened.Account)
	switch {
	case errors.Is(err, ErrUnknown):
		return Account{}, ErrDenied
	case err != nil:
		return Account{}, err
	case a.Disabled || !sameHash(string(a.password.entry), string(opened.Password)):
		return Account{}, ErrDenied
	}
	return a, nil
}

func (b *Book) session(ctx context.Context, token string) (opened *sessionOpened, ended bool, envelopes []journal.Envelope, err error) {
	envelopes, err = b.Log.Stream(ctx, journal.Stream(sessionStream+hashToken(token)))
	if err != nil {
		return nil, false, nil, fmt.Errorf("account: %w", err)
	}
	for _, env := range envelopes {
		event, err := decode(env)
		if err != nil {
			return nil, false, nil, err
		}
		switch event := event.(type) {
		case *sessionOpened:
			opened = event
		case *sessionEnded:
			ended = true
		}
	}
	return opened, ended, envelopes, nil
}

// EndSession ends a session. One that is not there is none the less ended.
func (b *Book) EndSession(ctx context.Context, token string) error {
	opened, ended, envelopes, err := b.session(ctx, token)
	if err != nil || opened == nil || ended {
		return err
	}
	return b.append(ctx, b.entry(b.IDs.Next(), envelopes[0].Stream, envelopes, envelopes[0].Author, "session-ended", sessionEnded{}))
}

// Phones lists all phones, the latest first.
func (b *Book) Phones(ctx context.Context) ([]Phone, error) {
	rows, err := list[phoneRow](ctx, b, listPhones)
	if err != nil {
		return nil, err
	}
	all := make([]Phone, len(rows))
	for i, r := range rows {
		r.Phone.token = r.Token
		all[len(rows)-1-i] = r.Phone
	}
	return all, nil
}
