package exchange

import (
	"sync"
	"testing"

	"rung/internal/journal"
)

// TestAtOnce lets a phone write, exchange, tell its status and ask for houses
// from many goroutines; run with -race it shows that nothing is shared without a
// lock.
func TestAtOnce(t *testing.T) {
	office, phone := pair()
	write(t, office.Log, entries("property/B", 0, 300)...)
	var work sync.WaitGroup
	for i := range 4 {
		work.Go(func() {
			for _, e := range entries("property/"+string(rune('C'+i)), 0, 50) {
				if err := phone.log.Append(t.Context(), []journal.Envelope{e}); err != nil {
					t.Error(err)
				}
			}
		})
		work.Go(func() {
			for range 5 {
				if _, err := phone.Run(t.Context(), wire{office}); err != nil {
					t.Error(err)
				}
			}
		})
		work.Go(func() {
			for range 20 {
				if _, err := phone.Status(t.Context()); err != nil {
					t.Error(err)
				}
				if err := phone.Want(t.Context(), "B"); err != nil {
					t.Error(err)
				}
			}
		})
	}
	work.Wait()
	run(t, phone, wire{office})
	holds(t, phone.log, all(t, office.Log))
	if s := status(t, phone); s.Waiting != 0 || len(all(t, office.Log)) != 500 {
		t.Errorf("%+v", s)
	}
}
