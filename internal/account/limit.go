package account

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"strconv"
	"sync"
	"time"

	"rung/internal/journal"
)

// Guesses at a password that may fail within a window, before further ones are
// turned away unread: for one name, and from one address.
//
// practice: a person who mistypes gets through; a machine gets a thousand
// guesses a day at one name, and a password of ten letters stands that.
const (
	guessWindow     = 15 * time.Minute
	guessesByName   = 10
	guessesByOrigin = 30
	// mostNoted is how many guesses one server notes in the journal within a window;
	// those beyond count in that server only. A flood from many addresses must not
	// fill the store, which forgets nothing.
	mostNoted = 2000
)

// Limiter counts guesses that failed in the journal of the accounts, so that all
// servers of a shop count together and a start forgets nothing. Several servers
// that are asked in the same moment may let through one guess more each. It may
// be used by several goroutines.
type Limiter struct {
	book   *Book
	mu     sync.Mutex
	number int64 // of the window counted in noted
	noted  int
	spill  map[journal.Stream]int // guesses of this window that are in no journal
}

// NewLimiter returns a limiter over the journal and the clock of a book.
func NewLimiter(b *Book) *Limiter { return &Limiter{book: b} }

// The streams of a window: guesses at a name, and from an address.
const guessStream = "guess/" // + number of the window + "/" + hash

// guessed is an entry of such a stream; forgiven sets the count back.
type (
	guessed  struct{}
	forgiven struct {
		All bool `json:"all,omitempty"` // else the last one
	}
)

// streams names where the guesses at a name from an address are counted. Of a
// name two bytes of a hash are kept: a password typed into the field for the
// name must not be found out from them, and of two names in one count the worst
// that comes is a pause.
func streams(window int64, name, address string) (byName, byOrigin journal.Stream) {
	at := guessStream + strconv.FormatInt(window, 10)
	n, o := sha256.Sum256([]byte(keyOf(name))), sha256.Sum256([]byte(address))
	return journal.Stream(at + "/name/" + hex.EncodeToString(n[:2])), journal.Stream(at + "/from/" + hex.EncodeToString(o[:8]))
}

// now returns the number of the window, and how long it lasts yet.
func (l *Limiter) now() (window int64, left time.Duration) {
	now := l.book.Now()
	window = now.Unix() / int64(guessWindow/time.Second)
	return window, time.Unix((window+1)*int64(guessWindow/time.Second), 0).Sub(now)
}

// Wait returns how long a further guess at a name from an address must wait;
// zero if it need not. A guess that may go on is counted as failed until
// Succeeded says otherwise, so that many at once are not all let through. An
// error is one of the store.
func (l *Limiter) Wait(ctx context.Context, name, address string) (time.Duration, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	window, left := l.now()
	if l.number != window {
		l.number, l.noted, l.spill = window, 0, map[journal.Stream]int{}
	}
	byName, byOrigin := streams(window, name, address)
	for _, c := range []struct {
		stream journal.Stream
		most   int
	}{{byOrigin, guessesByOrigin}, {byName, guessesByName}} { // a flood of names from one address is stopped first
		n, _, err := l.count(ctx, c.stream)
		if err != nil {
			return 0, err
		}
		if n >= c.most {
			return left, nil
		}
	}
	if l.noted >= mostNoted {
		l.spill[byName]++
		l.spill[byOrigin]++
		return 0, nil
	}
	l.noted++
	return 0, l.note(ctx, "guessed", guessed{}, byName, byOrigin)
}

// count returns how many guesses count in a stream, and its entries.
func (l *Limiter) count(ctx context.Context, s journal.Stream) (n int, kept []journal.Envelope, err error) {
	if kept, err = l.book.Log.Stream(ctx, s); err != nil {
		return 0, nil, err
	}
	for _, env := range inOrder(kept) {
		event, err := decode(env)
		if err != nil {
			return 0, nil, err
		}
		switch event := event.(type) {
		case *guessed:
			n++
		case *forgiven:
			if n--; event.All || n < 0 {
				n = 0
			}
		}
	}
	return n + l.spill[s], kept, nil
}

// note appends an entry to each of some streams.
func (l *Limiter) note(ctx context.Context, kind string, event any, to ...journal.Stream) error {
	var batch []journal.Envelope
	for _, s := range to {
		batch = append(batch, l.book.entry(l.book.IDs.Next(), s, nil, "", kind, event))
	}
	return l.book.append(ctx, batch...)
}

// Succeeded forgets the guesses at a name, and takes the last one from its
// address back.
func (l *Limiter) Succeeded(ctx context.Context, name, address string) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	window, _ := l.now()
	byName, byOrigin := streams(window, name, address)
	delete(l.spill, byName)
	if l.spill[byOrigin] > 0 {
		l.spill[byOrigin]--
		return l.note(ctx, "forgiven", forgiven{All: true}, byName)
	}
	a := l.book.entry(l.book.IDs.Next(), byName, nil, "", "forgiven", forgiven{All: true})
	b := l.book.entry(l.book.IDs.Next(), byOrigin, nil, "", "forgiven", forgiven{})
	return l.book.append(ctx, a, b)
}
