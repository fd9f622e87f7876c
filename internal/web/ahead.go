package web

import "time"

// How work is done ahead: some time after the page went out, in slices with a rest
// after each, in which a browser, which has one thread, sees to what else it is asked.
// practice: 10 ms is no delay that a hand notices; a rest of half as much leaves time for others.
const (
	aheadAfter = 300 * time.Millisecond
	aheadSlice = 10 * time.Millisecond
	aheadRest  = 5 * time.Millisecond
)

// Ahead returns a visit.Config.Ahead: it works on one thing at a time, so on one
// processor at most.
func Ahead() func(step func() bool) {
	one := make(chan struct{}, 1)
	return func(step func() bool) {
		go func() {
			time.Sleep(aheadAfter)
			one <- struct{}{}
			defer func() { <-one }()
			for began := time.Now(); step(); {
				if time.Since(began) > aheadSlice {
					time.Sleep(aheadRest)
					began = time.Now()
				}
			}
		}()
	}
}
