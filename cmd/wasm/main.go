//go:build js && wasm

// Command wasm is the whole program for the phone's browser: the same pages and
// the same reasoning as in the server, over a journal in the browser's own
// store. A service worker runs it and hands it every request (see sw.js).
//
// Its first argument is the number under which the worker started it. It keeps
// no state but what is in the store, because the browser stops it at will.
package main

import (
	"context"
	"crypto/rand"
	"net/http"
	"os"
	"sync"
	"syscall/js"
	"time"

	"rung/internal/exchange"
	"rung/internal/journal"
	"rung/internal/journal/idblog"
	"rung/internal/ledger"
	"rung/internal/visit"
	"rung/internal/web"
)

func main() {
	worker, number := js.Global().Get("rung"), os.Args[1]
	b := breath{worker: worker, last: time.Now()}
	log, handler, err := start(context.Background(), worker.Get("shop"), b.take)
	if err != nil {
		worker.Call("failed", number, err.Error())
		return
	}
	worker.Call("ready", number, js.FuncOf(func(_ js.Value, args []js.Value) any { return promise(handler, request(args)) }))
	<-log.Done() // another program has the store now, or nobody has; the worker starts anew
}

// breath lets the events of the browser in while the program computes, which it
// does on the one thread there is.
type breath struct {
	worker js.Value
	last   time.Time
}

// slice is how long the program computes in one go. A breath takes some 4 ms,
// the least time for which browsers wait.
const slice = 40 * time.Millisecond

// take takes a breath if it is time, and tells the worker that work goes on.
func (b *breath) take() {
	if time.Since(b.last) < slice {
		return
	}
	b.worker.Call("working")
	time.Sleep(time.Microsecond) // a timer of the browser; Gosched would let no event in
	b.last = time.Now()
}

// start opens the store and wires the pages to it; shop is what the server says
// about itself.
func start(ctx context.Context, shop js.Value, pause func()) (*idblog.Log, http.Handler, error) {
	log, err := idblog.Open(ctx, "rung", ledger.Summary())
	if err != nil {
		return nil, nil, err
	}
	ids := journal.NewIDSource(time.Now, rand.Reader)
	d, err := openDevice(ctx, log, ids)
	if err != nil {
		return nil, nil, err
	}
	visits, err := visit.New(visit.Config{Log: log, Blobs: log.Blobs(), Now: time.Now, IDs: ids, Device: d.id, Zone: time.Local, Pause: pause, Ahead: web.Ahead(), Later: true})
	if err != nil {
		return nil, nil, err
	}
	client := exchange.NewClient(log, keeper{log}, d.id, time.Now)
	client.CarryPhotos(log.Blobs(), room)
	pages, err := web.New(web.Options{
		Visits: visits, Now: time.Now, Zone: time.Local, Shop: shop.Get("Name").String(), Phone: shop.Get("Phone").String(), Device: d, Unsent: unsent(client),
		Enrolled: &web.Enrolment{Client: client, Worker: d.Worker},
		HandOver: &web.HandOver{Log: log, Blobs: log.Blobs(), Device: d.id, Client: client, Office: office{}},
	})
	if err != nil {
		return nil, nil, err
	}
	return log, afterFirst(pages.Handler(), visits.Prepare), nil
}

// drawing is how long the program is left alone to hand the first page on, with
// what belongs to it, before it gets ready for others.
const drawing = 300 * time.Millisecond

// afterFirst gets the pages ready when the first was answered: a page after a
// stop comes sooner if it does without what takes long to read.
func afterFirst(pages http.Handler, prepare func() error) http.Handler {
	var first sync.Once
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		pages.ServeHTTP(w, r)
		first.Do(func() {
			time.AfterFunc(drawing, func() {
				if err := prepare(); err != nil {
					panic(err) // a catalogue that no test has read
				}
			})
		})
	})
}

// device is this phone: a web.Device.
type device struct {
	log      *idblog.Log
	id       string // in the journal
	worker   string // who works on it
	language string // in which advice is read
}

// openDevice reads who this phone is, and gives it a name of its own the first
// time.
func openDevice(ctx context.Context, log *idblog.Log, ids *journal.IDSource) (*device, error) {
	id, err := log.Setting(ctx, "device")
	if err != nil {
		return nil, err
	}
	if id == "" {
		text := ids.Next().String()
		id = "phone-" + text[len(text)-8:]
		if err := log.SetSetting(ctx, "device", id); err != nil {
			return nil, err
		}
	}
	worker, err := log.Setting(ctx, "worker")
	if err != nil {
		return nil, err
	}
	language, err := log.Setting(ctx, "language")
	return &device{log, id, worker, language}, err
}

func (d *device) Name() string                             { return d.id }
func (d *device) Worker() string                           { return d.worker }
func (d *device) Language() string                         { return d.language }
func (d *device) Entries(ctx context.Context) (int, error) { return d.log.Entries(ctx) }

// SetWorker keeps who works on this phone.
func (d *device) SetWorker(ctx context.Context, name string) error {
	if err := d.log.SetSetting(ctx, "worker", name); err != nil {
		return err
	}
	d.worker = name
	return nil
}

// SetLanguage keeps in which language advice is read on this phone.
func (d *device) SetLanguage(ctx context.Context, language string) error {
	if err := d.log.SetSetting(ctx, "language", language); err != nil {
		return err
	}
	d.language = language
	return nil
}
