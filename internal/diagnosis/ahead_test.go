package diagnosis

import (
	"reflect"
	"testing"
)

// What is solved ahead changes no advice and ends; what the check proposed needs at
// least need not be solved again.
func TestAheadChangesOnlyTheTime(t *testing.T) {
	at, ahead := freshHouse(t, hot, "weak-cooling"), freshHouse(t, hot, "weak-cooling")
	hidden := at.hide(t, "cond-coil-dirty", 1)
	c := arrived()
	for range 3 {
		want, got := at.mustAdvise(t, c), ahead.mustAdvise(t, c)
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("advice after solving ahead %+v, want %+v", got, want)
		}
		steps := 0
		for more := ahead.Ahead(c, got); more(); steps++ {
			if steps > 20000 {
				t.Fatal("solving ahead does not end")
			}
		}
		if ahead.Ahead(c, got)() {
			t.Error("something was left to be solved ahead")
		}
		c, _, _ = hidden.follow(t, c, 1)
	}
	before := ahead.cache.solved
	ahead.mustAdvise(t, c)
	at.mustAdvise(t, c)
	if n := ahead.cache.solved - before; n > at.cache.solved/10 {
		t.Errorf("%d plants solved after thinking ahead, %d in the whole call without", n, at.cache.solved)
	}
}
