package journal

import (
	"fmt"
	"sync"
	"time"
)

// Time is a hybrid logical time: 48 bits of Unix milliseconds and a counter of
// 16 bits. It follows the wall clock, and never falls behind what was seen.
//
// published: Kulkarni, Demirbas, Madappa, Avva, Leone 2014, "Logical physical
// clocks", section 3, with the counter packed below the milliseconds.
type Time uint64

// maxTime keeps a Time within a signed 64-bit integer of a database.
const maxTime = Time(1<<63 - 1)

// TimeOf returns the first hybrid time of the millisecond of t.
func TimeOf(t time.Time) Time { return Time(t.UnixMilli()) << 16 }

// Wall returns the wall-clock part of t.
func (t Time) Wall() time.Time { return time.UnixMilli(int64(t >> 16)).UTC() }

// String returns the wall clock and the counter.
func (t Time) String() string {
	return fmt.Sprintf("%s+%d", t.Wall().Format("2006-01-02T15:04:05.000Z"), t&0xffff)
}

// MaxAhead is how far ahead of our own clock a foreign time may be and still
// raise it. A phone whose date is a year off must not drag the others along.
//
// practice: a day covers a phone set to the wrong zone or date line.
const MaxAhead = 24 * time.Hour

// Clock gives out rising hybrid times. It may be used by several goroutines.
type Clock struct {
	now  func() time.Time
	mu   sync.Mutex
	last Time
}

// NewClock returns a clock over the wall clock now.
func NewClock(now func() time.Time) *Clock { return &Clock{now: now} }

// Next returns a time later than every one returned or observed before.
func (c *Clock) Next() Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.last = max(TimeOf(c.now()), c.last+1)
	return c.last
}

// Observe raises the clock to t, so that what follows sorts after it. It
// returns false and does nothing if t is more than MaxAhead in the future:
// such an envelope is kept, and shown with doubt about its date.
func (c *Clock) Observe(t Time) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if t > TimeOf(c.now().Add(MaxAhead)) {
		return false
	}
	c.last = max(c.last, t)
	return true
}
