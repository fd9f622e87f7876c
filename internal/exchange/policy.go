package exchange

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"rung/internal/journal"
	"rung/internal/ledger"
	"rung/internal/record"
)

// ServerOnly begins the names of streams that never leave the office and are
// taken from no device: who may sign in, which device is enrolled.
const ServerOnly = "office/"

// Travels reports whether entries of a stream go from one journal to another.
func Travels(s journal.Stream) bool { return !strings.HasPrefix(string(s), ServerOnly) }

// Recent is for how long after its opening or closing a visit keeps its property
// on the phones. practice: within a month customers call back about the same
// trouble.
const Recent = 30 * 24 * time.Hour

// longest is how long a visit is taken to stay open: who closes one later finds
// its property gone from the phones after that, until it is asked for.
// practice: parts on order come within two months.
const longest = 60 * 24 * time.Hour

// Policy says which properties a device carries. Streams that are no property's
// concern the whole shop and are carried by all, if they travel.
type Policy func(ctx context.Context, device string, wants []journal.Stream) (map[journal.Stream]bool, error)

// Carry returns the policy of the shop: properties with a visit that is open, or
// was opened or closed within Recent, and those wanted. The log must keep the lists of
// ledger.Summary.
func Carry(log journal.Log, now func() time.Time) Policy {
	return func(ctx context.Context, _ string, wants []journal.Stream) (map[journal.Stream]bool, error) {
		carried := map[journal.Stream]bool{}
		for _, s := range wants {
			if _, ok := record.PropertyOf(s); ok {
				carried[s] = true
			}
		}
		since := now().Add(-Recent)
		if err := carryVisits(ctx, log, carried, ledger.ListOpenVisits, "", time.Time{}); err != nil {
			return nil, err
		}
		for _, month := range monthsFrom(since.Add(-longest), now()) {
			if err := carryVisits(ctx, log, carried, ledger.ListVisits, month, since); err != nil {
				return nil, err
			}
		}
		return carried, nil
	}
}

// carryVisits adds the properties of the visits of a list whose key begins with
// prefix, opened or closed since then.
func carryVisits(ctx context.Context, log journal.Log, carried map[journal.Stream]bool, list, prefix string, since time.Time) error {
	rows, err := log.Rows(ctx, list, prefix)
	if err != nil {
		return fmt.Errorf("what a device carries: %w", err)
	}
	for _, r := range rows {
		var line ledger.VisitLine
		if err := json.Unmarshal(r.Value, &line); err != nil {
			return fmt.Errorf("what a device carries: %s %s: %w", list, r.Key, err)
		}
		if !line.Opened.Before(since) || line.Closed != nil && !line.Closed.Before(since) {
			carried[line.Property.Stream()] = true
		}
	}
	return nil
}

// monthsFrom returns the months from one moment to another, as the keys of
// ledger.ListVisits begin: "2026-07", and the next one for clocks that are ahead.
func monthsFrom(from, to time.Time) []string {
	from, to = from.UTC(), to.UTC().AddDate(0, 0, 1)
	var list []string
	for m := time.Date(from.Year(), from.Month(), 1, 0, 0, 0, 0, time.UTC); !m.After(to); m = m.AddDate(0, 1, 0) {
		list = append(list, m.Format("2006-01"))
	}
	return list
}
