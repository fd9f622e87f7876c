package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"rung/internal/account"
)

// byCommand is who stands beside what was changed on the command line.
const byCommand = "command line"

type userCommand struct {
	Add      userAdd      `cmd:"" help:"Add a person. The first one must be an owner."`
	List     userList     `cmd:"" help:"List the people."`
	Role     userRole     `cmd:"" help:"Change a person's role, and licences if given."`
	Disable  userDisable  `cmd:"" help:"Close a person's account, or open it again."`
	Password userPassword `cmd:"" help:"Give a person another password; ends every session."`
}

// userStore is where the accounts are.
type userStore struct{ StoreOptions }

// open opens the accounts for as long as do takes.
func (s userStore) open(ctx context.Context, env Env, do func(*account.Book) error) error {
	book, done, err := env.Accounts(ctx, s.StoreOptions)
	if err != nil {
		return err
	}
	return errors.Join(do(book), done())
}

// licences is what a person may do by law, as a list.
type licences struct {
	Licences    []string `enum:"refrigerant,gas,electrician,none" help:"What the person is licensed for: refrigerant, gas, electrician, or none."`
	Certificate *string  `help:"Number of the certificate."`
}

// apply puts what was given into s and leaves the rest.
func (l licences) apply(s *account.Standing) {
	if len(l.Licences) > 0 {
		s.Refrigerant, s.Gas, s.Electrician = false, false, false
	}
	for _, name := range l.Licences {
		switch name {
		case "refrigerant":
			s.Refrigerant = true
		case "gas":
			s.Gas = true
		case "electrician":
			s.Electrician = true
		}
	}
	if l.Certificate != nil {
		s.Certificate = *l.Certificate
	}
}

// passwordFlag says where a password comes from.
type passwordFlag struct {
	PasswordStdin bool `help:"Read the password from standard input, one line. Without it one is made and printed, once."`
}

// password reads or makes a password; made tells which.
func (p passwordFlag) password(env Env) (password string, made bool, err error) {
	if !p.PasswordStdin {
		return env.NewPassword(), true, nil
	}
	line, err := bufio.NewReader(env.Stdin).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return "", false, err
	}
	return strings.TrimRight(line, "\r\n"), false, nil
}

// tell prints what was done, and a password that was made.
func tell(env Env, done, password string, made bool) error {
	if made {
		done += fmt.Sprintf("\npassword: %s\nIt is not shown again. Let it be changed after the first sign-in, at /office/password.", password)
	}
	_, err := fmt.Fprintln(env.Stdout, done)
	return err
}

type userAdd struct {
	userStore
	Name string       `arg:"" help:"Name, as it shall stand beside the entries."`
	Role account.Role `required:"" enum:"owner,mechanic,apprentice,office" help:"owner, mechanic, apprentice or office."`
	licences
	passwordFlag
}

// Run adds a person.
func (c userAdd) Run(ctx context.Context, env Env) error {
	password, made, err := c.password(env)
	if err != nil {
		return err
	}
	return c.open(ctx, env, func(b *account.Book) error {
		s := account.Standing{Role: c.Role}
		c.apply(&s)
		a, err := b.Add(ctx, byCommand, c.Name, s, password)
		if err != nil {
			return err
		}
		return tell(env, fmt.Sprintf("added %s, %s", a.Name, a.Role), password, made)
	})
}

type userList struct{ userStore }

// Run lists the people.
func (c userList) Run(ctx context.Context, env Env) error {
	return c.open(ctx, env, func(b *account.Book) error {
		all, err := b.List(ctx)
		for _, a := range all {
			state := "open"
			if a.Disabled {
				state = "closed"
			}
			fmt.Fprintf(env.Stdout, "%s\t%s\t%s\n", a.Name, a.Role, state)
		}
		return err
	})
}

type userRole struct {
	userStore
	Name string       `arg:"" help:"Whose."`
	Role account.Role `arg:"" enum:"owner,mechanic,apprentice,office" help:"owner, mechanic, apprentice or office."`
	licences
}

// Run changes role and licences.
func (c userRole) Run(ctx context.Context, env Env) error {
	return c.open(ctx, env, func(b *account.Book) error {
		a, err := b.Account(ctx, c.Name)
		if err != nil {
			return err
		}
		s := a.Standing
		s.Role = c.Role
		c.apply(&s)
		if err := b.SetStanding(ctx, byCommand, c.Name, s); err != nil {
			return err
		}
		return tell(env, fmt.Sprintf("%s is %s now", a.Name, s.Role), "", false)
	})
}

type userDisable struct {
	userStore
	Name string `arg:"" help:"Whose account."`
	Undo bool   `help:"Open it again."`
}

// Run closes or opens an account.
func (c userDisable) Run(ctx context.Context, env Env) error {
	return c.open(ctx, env, func(b *account.Book) error {
		if err := b.Disable(ctx, byCommand, c.Name, c.Undo); err != nil {
			return err
		}
		if c.Undo {
			return tell(env, "opened again", "", false)
		}
		return tell(env, "closed: sessions are ended, phones hand in what they hold and receive nothing more", "", false)
	})
}

type userPassword struct {
	userStore
	Name string `arg:"" help:"Whose."`
	passwordFlag
}

// Run sets a password.
func (c userPassword) Run(ctx context.Context, env Env) error {
	password, made, err := c.password(env)
	if err != nil {
		return err
	}
	return c.open(ctx, env, func(b *account.Book) error {
		if err := b.SetPassword(ctx, byCommand, c.Name, password); err != nil {
			return err
		}
		return tell(env, "password set: every session is ended", password, made)
	})
}

type authorityCommand struct {
	Init authorityInit `cmd:"" help:"Make an authority for the server's name."`
}

type authorityInit struct {
	Name string `required:"" help:"Name of the server in the shop's network, such as shop.lan. It must not change afterwards: what phones keep belongs to it."`
	Dir  string `default:"authority" type:"path" help:"Where its files go; keep the directory to yourself."`
}

// Run makes the authority.
func (c authorityInit) Run(env Env) error {
	fingerprint, err := env.Authority(c.Dir, c.Name)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(env.Stdout, "made an authority for %s in %s\nfingerprint of its root (SHA-256), to compare on every phone:\n%s\nnext: rung serve --authority %s --addr :8443, then open https://%s:8443/trust on each phone\n",
		c.Name, c.Dir, fingerprint, c.Dir, c.Name)
	return err
}
