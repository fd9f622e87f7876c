package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"syscall"
	"time"

	"rung/internal/account"
	"rung/internal/authority"
	"rung/internal/cli"
	"rung/internal/demo"
	"rung/internal/exchange"
	"rung/internal/office"
	"rung/internal/visit"
	"rung/internal/web"
)

// serve answers on o.Addr until ctx ends.
func serve(ctx context.Context, o cli.ServeOptions) error {
	log, closeLog, err := openLog(ctx, o.StoreOptions)
	if err != nil {
		return err
	}
	defer closeLog()
	visits, err := newService(log, web.Ahead())
	if err != nil {
		return err
	}
	if o.Demo {
		if err := demo.Load(ctx, visits); err != nil {
			return fmt.Errorf("load the demo shop: %w", err)
		}
	}
	book, closeBook, err := accounts(ctx, o.StoreOptions)
	if err != nil {
		return err
	}
	defer closeBook()
	f := front{ServeOptions: o, book: book}
	if o.Authority != "" {
		if f.authority, err = authority.Open(o.Authority, time.Now()); err != nil {
			return err
		}
	}
	handler, err := f.handler(log, visits)
	if err != nil {
		return err
	}
	return f.listen(ctx, handler)
}

// front is what stands between the network and the pages.
type front struct {
	cli.ServeOptions
	book      *account.Book
	authority *authority.Authority // nil if the certificate comes from elsewhere, or there is none
}

// alone says whether the server can be reached from its own machine only, so
// that one person may work without signing in.
func (f front) alone() bool {
	host, _, err := net.SplitHostPort(f.Addr)
	if err != nil || f.BehindProxy {
		return false
	}
	a, err := netip.ParseAddr(host)
	return host == "localhost" || err == nil && a.IsLoopback()
}

// handler puts the pages, the office and the guard together.
func (f front) handler(log store, visits *visit.Service) (http.Handler, error) {
	options := office.Options{Book: f.book, Now: time.Now, Zone: time.Local, Held: &exchange.Held{Log: log, Now: time.Now}}
	if f.alone() {
		options.Alone = f.Name
	}
	if f.authority != nil {
		options.Root, options.RootName = f.authority.Root(), f.authority.Name()
	}
	shop := office.New(options)
	pages, err := web.New(web.Options{
		Visits: visits, Author: shop.Author, Standing: shop.Standing, People: shop.People, Guard: shop.Guard, Mount: shop.Mount(), Office: "/office",
		Now: time.Now, Zone: time.Local, Shop: f.Shop, Phone: f.Phone, Gallery: f.Gallery,
		HandOver: &web.HandOver{Log: log, Blobs: log.Blobs(), Device: deviceName(), Registrar: shop, Bringer: shop.MayTakeIn},
		Exchange: &exchange.Server{Log: log, Blobs: log.Blobs(), Now: time.Now, Authorise: shop.MayExchange, Registrar: shop},
	})
	if err != nil {
		return nil, err
	}
	handler := pages.Handler()
	if f.HSTS {
		handler = office.StrictTransport(handler)
	}
	return office.Forwarded(f.BehindProxy, handler), nil
}

func (f front) listen(ctx context.Context, handler http.Handler) error {
	l, err := net.Listen("tcp", f.Addr)
	if errors.Is(err, syscall.EADDRINUSE) {
		return fmt.Errorf("another program answers on %s; choose another address with --addr, such as 127.0.0.1:8090: %w", f.Addr, err)
	}
	if err != nil {
		return err
	}
	server := &http.Server{
		Handler:           handler,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       time.Minute,
		WriteTimeout:      time.Minute,
		IdleTimeout:       2 * time.Minute,
		ErrorLog:          slog.NewLogLogger(slog.Default().Handler(), slog.LevelWarn),
	}
	stopped := make(chan error, 1)
	go func() {
		<-ctx.Done()
		wait, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		stopped <- server.Shutdown(wait)
	}()
	if err := f.announce(ctx, l.Addr()); err != nil {
		return err
	}
	if err := f.answer(server, l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return <-stopped
}

// encrypted says whether the server itself speaks https.
func (f front) encrypted() bool { return f.TLSCert != "" || f.authority != nil }

// address is the address of the server, by the name on its certificate if that
// is known.
func (f front) address(at net.Addr) string {
	if f.authority != nil {
		_, port, _ := net.SplitHostPort(at.String())
		return "https://" + net.JoinHostPort(f.authority.Name(), port)
	}
	if f.encrypted() {
		return "https://" + at.String()
	}
	return "http://" + at.String()
}

// announce prints where the server is, and how the first owner is made if there
// is nobody yet and everybody must sign in.
func (f front) announce(ctx context.Context, at net.Addr) error {
	where := f.File
	if f.Postgres != "" {
		where = "PostgreSQL" // the address may hold a password
	}
	fmt.Printf("Rung is at %s  (journal: %s; stop with Ctrl-C)\n", f.address(at), where)
	if f.authority != nil {
		fmt.Printf("Phones trust it after %s/trust; its root has the fingerprint\n  %s\nThe certificate ends on %s and is renewed in the month before.\n",
			f.address(at), office.Fingerprint(f.authority.Root()), f.authority.Until().Format(time.DateOnly))
	}
	if any, err := f.book.Any(ctx); any || err != nil || f.alone() {
		return err
	}
	code, err := f.book.OwnerCode(ctx)
	if err != nil {
		return err
	}
	path := "/setup?" + url.Values{"code": {code}}.Encode()
	switch {
	case f.BehindProxy:
		fmt.Printf("There is no account yet. Make the first owner's here, within a day and once: the proxy's address, then %s\n", path)
	case !f.encrypted():
		fmt.Println("There is no account yet, and passwords are not taken over plain http. Serve https with --tls-cert, --authority or --behind-proxy; see docs/howto-office.md.")
	default:
		fmt.Printf("There is no account yet. Make the first owner's here, within a day and once: %s\n", f.address(at)+path)
	}
	return nil
}

// answer serves plainly, or with TLS if there is a certificate.
func (f front) answer(server *http.Server, l net.Listener) error {
	switch {
	case f.authority != nil:
		server.TLSConfig = f.authority.TLS(time.Now)
		return server.ServeTLS(l, "", "")
	case f.TLSCert != "":
		server.TLSConfig = &tls.Config{MinVersion: tls.VersionTLS12}
		return server.ServeTLS(l, f.TLSCert, f.TLSKey)
	}
	return server.Serve(l)
}
