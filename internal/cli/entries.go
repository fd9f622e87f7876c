package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"rung/internal/blob"
	"rung/internal/exchange"
	"rung/internal/journal"
	"rung/internal/ledger"
	"rung/internal/record"
)

// JournalFile is a journal that was opened for one command.
type JournalFile interface {
	journal.Log
	Blobs() blob.Store
	Close() error
}

type exportCommand struct {
	File     string `default:"rung.db" type:"existingfile" help:"The file that holds the journal; it may be in use."`
	Property string `help:"Only one property: its id, or a part of its name or address that no other has."`
	To       string `arg:"" type:"path" help:"The file of entries; must not exist."`
}

// Run writes entries of a journal into a file that another journal takes in.
func (c exportCommand) Run(ctx context.Context, env Env) (err error) {
	log, err := env.Open(ctx, c.File, false)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, log.Close()) }()
	var stream journal.Stream
	if c.Property != "" {
		if stream, err = streamOf(ctx, log, c.Property); err != nil {
			return err
		}
	}
	list, err := exchange.Gather(ctx, log, stream)
	if err != nil {
		return err
	}
	photos, left, err := photosFor(ctx, log, stream)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(c.To, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600) // it holds addresses of people
	if err != nil {
		return fmt.Errorf("export: %w", err)
	}
	err = exchange.WriteBundle(f, exchange.Bundle{Device: env.Device, Made: time.Now(), Entries: list, Photos: photos})
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		os.Remove(c.To) // half a file helps nobody
		return err
	}
	fmt.Fprintf(env.Stdout, "wrote %d entries and %d photos to %s\n", len(list), len(photos), c.To)
	if left > 0 {
		fmt.Fprintf(env.Stdout, "%d older photos did not fit: a file holds %d MB of them\n", left, exchange.MaxBundlePhotos>>20)
	}
	return nil
}

// photosFor gathers the photos of a property, or of all, as far as a file holds
// them.
func photosFor(ctx context.Context, log JournalFile, stream journal.Stream) (photos []exchange.Photo, left int, err error) {
	property, _ := record.PropertyOf(stream)
	list, err := exchange.PhotosOf(ctx, log, property)
	if err != nil {
		return nil, 0, err
	}
	return exchange.GatherPhotos(ctx, log.Blobs(), list)
}

// streamOf finds a property by its id, or by a part of its name or address.
func streamOf(ctx context.Context, log journal.Log, text string) (journal.Stream, error) {
	rows, err := log.Rows(ctx, ledger.ListProperties, "")
	if err != nil {
		return "", err
	}
	var found []ledger.PropertyLine
	for _, r := range rows {
		var line ledger.PropertyLine
		if err := json.Unmarshal(r.Value, &line); err != nil {
			return "", fmt.Errorf("list of properties: %s: %w", r.Key, err)
		}
		if string(line.Property) == text {
			return line.Property.Stream(), nil
		}
		if strings.Contains(strings.ToLower(line.Name+" "+line.Address), strings.ToLower(text)) {
			found = append(found, line)
		}
	}
	switch len(found) {
	case 0:
		return "", fmt.Errorf("no property is called %q", text)
	case 1:
		return found[0].Property.Stream(), nil
	}
	var names []string
	for _, line := range found {
		names = append(names, fmt.Sprintf("%s %s (%s)", line.Property, line.Name, line.Address))
	}
	return "", fmt.Errorf("%q is part of several, give the id of one:\n%s", text, strings.Join(names, "\n"))
}

type importCommand struct {
	File string `default:"rung.db" type:"path" help:"The file that holds the journal; made if it is not there."`
	From string `arg:"" type:"existingfile" help:"The file of entries, as export or a phone wrote it."`
}

// Run takes a file of entries in. Taking it in twice changes nothing.
func (c importCommand) Run(ctx context.Context, env Env) (err error) {
	f, err := os.Open(c.From)
	if err != nil {
		return fmt.Errorf("import: %w", err)
	}
	defer f.Close()
	b, err := exchange.ReadBundle(f)
	if err != nil {
		return fmt.Errorf("%s: %w; nothing was taken in", c.From, err)
	}
	log, err := env.Open(ctx, c.File, true)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, log.Close()) }()
	in, err := exchange.TakeIn(ctx, log, b.Entries, time.Now())
	fmt.Fprintf(env.Stdout, "%d of %d entries of %s are in %s\n", in.Kept, len(b.Entries), orUnknown(b.Device), c.File)
	for _, flag := range in.Flagged {
		fmt.Fprintf(env.Stdout, "%s %s: %s\n", flag.Why, flag.ID, flag.Text)
	}
	if err == nil && len(b.Photos) > 0 {
		var kept int
		kept, err = exchange.TakeInPhotos(ctx, log, log.Blobs(), b.Photos)
		fmt.Fprintf(env.Stdout, "%d of %d photos are there too\n", kept, len(b.Photos))
	}
	if err == nil && in.Kept < len(b.Entries) {
		return errFailed
	}
	return err
}

func orUnknown(device string) string {
	if device == "" {
		return "an unknown device"
	}
	return device
}
