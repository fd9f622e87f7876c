//go:build !js

package visit

import (
	"context"
	"path/filepath"
	"testing"

	"rung/internal/journal/sqlitelog"
	"rung/internal/ledger"
)

// A visit recorded in a file is there after the file was closed and opened, and
// in its backup.
func TestVisitInAFile(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "shop.db")
	open := func(path string) (*shop, *sqlitelog.Log) {
		log, err := sqlitelog.Open(context.Background(), path, sqlitelog.Options{Summary: ledger.Summary()})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { log.Close() })
		return &shop{Service: newService(t, log, 1), t: t}, log
	}
	s, log := open(path)
	v, _ := s.call()
	s.read(v, "look-listen compressor cool hums-then-stops", "cap-bench herm off 4.90")
	if _, err := log.Backup(ctx, path+".backup"); err != nil {
		t.Fatal(err)
	}
	log.Close()
	for _, file := range []string{path, path + ".backup"} {
		s, _ := open(file)
		here := must(s.Visit(ctx, v))(t)
		if n := len(here.Visit.Readings); n != 2 || here.Visit.Readings[1].Text != "4.90" || here.Property.Name != "Mill house" {
			t.Errorf("%s: %d readings, %+v", filepath.Base(file), n, here.Visit)
		}
		if list := must(s.OpenVisits(ctx))(t); len(list) != 1 || list[0].Visit != v {
			t.Errorf("%s: open visits %+v", filepath.Base(file), list)
		}
	}
}
