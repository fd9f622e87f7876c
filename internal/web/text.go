package web

import (
	"context"
	"math"
	"slices"
	"strings"

	"rung/internal/ledger"
	"rung/internal/web/page"
)

// minutes prints a time of work.
func minutes(m float64) string { return count(int(math.Ceil(m)), "minute", "minutes") }

// minutesIn is minutes in the language of the page.
func minutesIn(ctx context.Context, m float64) string {
	return page.Count(ctx, int(math.Ceil(m)), "minute", "minutes")
}

// trimmed cuts a prefix off and says whether it was there.
func trimmed(s, prefix string) (string, bool) {
	rest, ok := strings.CutPrefix(s, prefix)
	return rest, ok
}

func oldestFirst(latestFirst []*ledger.Visit) []*ledger.Visit {
	list := slices.Clone(latestFirst)
	slices.Reverse(list)
	return list
}

// present leaves out what is empty.
func present(parts ...string) []string {
	return slices.DeleteFunc(parts, func(s string) bool { return s == "" })
}
