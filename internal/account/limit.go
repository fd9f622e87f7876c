package account

import (
	"sync"
	"time"
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
	mostCounted     = 50_000 // names and addresses; then the oldest are forgotten
)

// Limiter counts guesses that failed, in this process. It may be used by several
// goroutines.
type Limiter struct {
	now     func() time.Time
	mu      sync.Mutex
	windows map[string]*window
}

type window struct {
	began time.Time
	n     int
}

// NewLimiter returns a limiter over the wall clock now.
func NewLimiter(now func() time.Time) *Limiter {
	return &Limiter{now: now, windows: map[string]*window{}}
}

// Wait returns how long a further guess at a name from an address must wait;
// zero if it need not. A guess that may go on is counted as failed until
// Succeeded says otherwise, so that many at once are not all let through.
func (l *Limiter) Wait(name, address string) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.now()
	byOrigin := l.window("from "+address, now)
	if byOrigin.n >= guessesByOrigin { // before the name is counted: a flood of names must not make room
		return byOrigin.began.Add(guessWindow).Sub(now)
	}
	byName := l.window("name "+keyOf(name), now)
	if byName.n >= guessesByName {
		return byName.began.Add(guessWindow).Sub(now)
	}
	byName.n++
	byOrigin.n++
	return 0
}

// Succeeded forgets the guesses at a name, and takes the last one from its
// address back.
func (l *Limiter) Succeeded(name, address string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.windows, "name "+keyOf(name))
	if w := l.windows["from "+address]; w != nil && w.n > 0 {
		w.n--
	}
}

func (l *Limiter) window(key string, now time.Time) *window {
	w := l.windows[key]
	if w == nil || now.Sub(w.began) >= guessWindow {
		l.makeRoom(now)
		w = &window{began: now}
		l.windows[key] = w
	}
	return w
}

// makeRoom drops windows that are over; if that is not enough, all.
func (l *Limiter) makeRoom(now time.Time) {
	if len(l.windows) < mostCounted {
		return
	}
	for key, w := range l.windows {
		if now.Sub(w.began) >= guessWindow {
			delete(l.windows, key)
		}
	}
	if len(l.windows) >= mostCounted {
		clear(l.windows)
	}
}
