// Package cli is the command line of rung: it reads flags and standard input,
// calls what does the work, and prints.
//
// Commands that need a store or a server get it from the caller, so that this
// package links neither.
package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"github.com/alecthomas/kong"

	"rung/internal/account"
	"rung/internal/tradeunit"
	"rung/internal/visit"
)

// Env is what a command may touch outside its arguments.
type Env struct {
	Stdin          io.Reader
	Stdout, Stderr io.Writer
	Serve          func(ctx context.Context, o ServeOptions) error
	// Visits returns the use cases over an empty journal in memory.
	Visits func() (*visit.Service, error)
	// Accounts opens the accounts beside a journal, and how to close them.
	Accounts func(ctx context.Context, o StoreOptions) (*account.Book, func() error, error)
	// NewPassword makes a password that nobody can guess.
	NewPassword func() string
	// Authority makes an authority for a server's name in a directory, and returns
	// the fingerprint of its root.
	Authority func(dir, name string) (fingerprint string, err error)
	// Backup copies a journal, checks the copy and returns its number of entries.
	Backup func(ctx context.Context, from, to string) (entries int, err error)
	// Open opens the journal in a file, which is made if it is to be written and
	// not there.
	Open func(ctx context.Context, path string, write bool) (JournalFile, error)
	// Device is the name of this machine in files of entries.
	Device string
}

// StoreOptions say where the journal is. The accounts are kept beside it.
type StoreOptions struct {
	File     string `default:"rung.db" type:"path" help:"The file that holds the journal; made if it is not there. Accounts are in a second file beside it, NAME-office.db."`
	Postgres string `placeholder:"URL" env:"RUNG_POSTGRES" help:"Keep the journal in PostgreSQL instead, postgres://user@host/name; several servers may share it."`
}

// ServeOptions say how the server runs.
type ServeOptions struct {
	Addr string `default:"127.0.0.1:8080" help:"Address to listen on."`
	StoreOptions
	TLSCert     string `name:"tls-cert" type:"existingfile" and:"tls" xor:"certificate" help:"Certificate file for https."`
	TLSKey      string `name:"tls-key" type:"existingfile" and:"tls" help:"Key file for https."`
	Authority   string `type:"existingdir" xor:"certificate" placeholder:"DIR" help:"Serve https with the shop's own authority, see rung authority."`
	BehindProxy bool   `help:"Believe the scheme, host and address that a proxy in front tells. Without one anybody could tell them."`
	HSTS        bool   `name:"hsts" help:"Tell browsers to come over https only from now on. It cannot be taken back from them."`
	Name        string `default:"mechanic" help:"Who is working, as written into the journal, as long as there are no accounts and the server listens on this machine only."`
	Shop        string `help:"Name of the shop, printed on papers."`
	Phone       string `help:"Telephone of the shop, printed on papers."`
	Demo        bool   `help:"Load a made-up shop into an empty journal."`
	Gallery     bool   `help:"Also serve every page with made-up data below /gallery/."`
}

// commands is the grammar of the command line.
type commands struct {
	Serve     serveCommand     `cmd:"" help:"Serve the pages."`
	Diagnose  diagnoseCommand  `cmd:"" help:"Reason over a case given as JSON on standard input."`
	Calc      calcCommand      `cmd:"" help:"Run a calculator on JSON from standard input."`
	User      userCommand      `cmd:"" help:"People who may sign in: add, list, change."`
	Authority authorityCommand `cmd:"" help:"The shop's own certificate authority, for a server without a public name."`
	Export    exportCommand    `cmd:"" help:"Write entries of the journal into a file that another journal takes in."`
	Import    importCommand    `cmd:"" help:"Take in a file of entries from another journal or phone."`
	Backup    backupCommand    `cmd:"" help:"Copy the journal to another file while it is in use, and check the copy."`
}

// errFailed says that the output already tells what failed.
var errFailed = errors.New("some input failed")

// Run carries out one command line and returns the exit status: 0 done, 1 some
// input failed, 2 the command line is wrong, 3 the machine refused.
func Run(ctx context.Context, args []string, env Env) int {
	var c commands
	parser, err := kong.New(&c, kong.Name("rung"),
		kong.Description("Service tool for the residential heating-and-cooling mechanic."),
		kong.Writers(env.Stdout, env.Stderr), kong.UsageOnError(), kong.BindTo(ctx, (*context.Context)(nil)), kong.Bind(env),
		kong.Exit(func(int) { panic(helpShown{}) }))
	if err != nil {
		panic("cli: " + err.Error())
	}
	return runParsed(parser, args, env)
}

// helpShown unwinds the parser after it printed the help text.
type helpShown struct{}

func runParsed(parser *kong.Kong, args []string, env Env) (status int) {
	defer func() {
		if r := recover(); r != nil {
			if _, ok := r.(helpShown); !ok {
				panic(r)
			}
			status = 0
		}
	}()
	k, err := parser.Parse(args)
	if err != nil {
		fmt.Fprintf(env.Stderr, "rung: %v\n", err)
		return 2
	}
	switch err := k.Run(); {
	case err == nil:
		return 0
	case errors.Is(err, errFailed):
		return 1
	default:
		fmt.Fprintf(env.Stderr, "rung: %v\n", err)
		return 3
	}
}

// unitsFlag chooses the units of the output.
type unitsFlag struct {
	Units string `enum:"si,us" default:"si" help:"Units of the output: si or us."`
}

func (u unitsFlag) system() tradeunit.System { return tradeunit.System(u.Units) }

type serveCommand struct{ ServeOptions }

// Run serves until ctx ends.
func (c serveCommand) Run(ctx context.Context, env Env) error { return env.Serve(ctx, c.ServeOptions) }

type backupCommand struct {
	From string `arg:"" type:"existingfile" help:"The journal file."`
	To   string `arg:"" type:"path" help:"The copy; must not exist."`
}

// Run copies and checks.
func (c backupCommand) Run(ctx context.Context, env Env) error {
	entries, err := env.Backup(ctx, c.From, c.To)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(env.Stdout, "copied %d entries from %s to %s and read the copy back\n", entries, c.From, c.To)
	return err
}

// printJSON writes doc with full precision.
func printJSON(w io.Writer, doc any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(doc)
}
