package visit

import (
	"context"
	"errors"
	"math/rand/v2"
	"testing"

	"rung/internal/record"
)

// TestShareReport: a link works until it is withdrawn, the same form is the same
// link, and the list that finds it holds no token.
func TestShareReport(t *testing.T) {
	s := newShop(t)
	s.random = rand.NewChaCha8([32]byte{5})
	ctx := t.Context()
	_, system, _ := s.house()
	v := must(s.OpenVisit(ctx, s.by(), system, OpenInput{Words: "warm", Complaint: "not-cooling", Who: record.Person{Name: "Ada"}}))(t)
	by := s.by()
	entry := must(s.ShareReport(ctx, by, v))(t)
	if again := must(s.ShareReport(ctx, by, v))(t); again != entry {
		t.Errorf("the same form made another link: %s and %s", entry, again)
	}
	here := must(s.Visit(ctx, v))(t)
	if n := len(here.Visit.Shared); n != 1 {
		t.Fatalf("%d links, want one", n)
	}
	token := here.Visit.Shared[0].Token
	if got := must(s.SharedReport(ctx, token))(t); got.Visit.Visit != v || len(token) != 43 {
		t.Errorf("the link leads to %s, want %s", got.Visit.Visit, v)
	}
	second := must(s.ShareReport(ctx, s.by(), v))(t)
	s.ok(s.Withdraw(ctx, s.by(), v, entry, "mistake"))
	for _, none := range []string{token, "", token[1:], string(v), token + "x"} {
		var e *Error
		if _, err := s.SharedReport(ctx, none); !errors.As(err, &e) || e.Kind != NotFound {
			t.Errorf("link %q: %v, want NotFound", none, err)
		}
	}
	here = must(s.Visit(ctx, v))(t)
	if len(here.Visit.Shared) != 1 || here.Visit.Shared[0].Stamp.Entry != second {
		t.Errorf("links left: %+v, want the second", here.Visit.Shared)
	}
	rows := must(s.log.Rows(ctx, "shared", ""))(t)
	if len(rows) != 1 || rows[0].Key == here.Visit.Shared[0].Token {
		t.Errorf("the list is %v, want one row without the token", rows)
	}
}

// TestShareNeedsChance: a device without a source of chance makes no links.
func TestShareNeedsChance(t *testing.T) {
	s := newShop(t)
	_, system, _ := s.house()
	v := must(s.OpenVisit(t.Context(), s.by(), system, OpenInput{Words: "warm", Complaint: "not-cooling", Who: record.Person{Name: "Ada"}}))(t)
	var e *Error
	if _, err := s.ShareReport(t.Context(), s.by(), v); !errors.As(err, &e) || e.Kind != Denied {
		t.Errorf("ShareReport = %v, want Denied", err)
	}
}

// TestApprenticeReopensNothing: what an apprentice may not do he may not undo.
func TestApprenticeReopensNothing(t *testing.T) {
	s := newShop(t)
	s.random = rand.NewChaCha8([32]byte{6})
	ctx := t.Context()
	_, system, _ := s.house()
	v := must(s.OpenVisit(ctx, s.by(), system, OpenInput{Words: "warm", Complaint: "not-cooling", Who: record.Person{Name: "Ada"}}))(t)
	link := must(s.ShareReport(ctx, s.by(), v))(t)
	ben := By{Author: "Ben", Person: record.Person{Name: "Ben", Role: "apprentice"}, Form: s.NewForm()}
	var e *Error
	if err := s.Withdraw(ctx, ben, v, link, ""); !errors.As(err, &e) || e.Kind != Denied {
		t.Errorf("an apprentice withdraws a link: %v, want Denied", err)
	}
	s.ok(s.Withdraw(ctx, s.by(), v, link, ""))
}

// TestVouched: what is known of the author stands before what he types of
// himself.
func TestVouched(t *testing.T) {
	s := newShop(t)
	_, system, _ := s.house()
	ada := record.Person{Name: "Ada", Role: "mechanic", Refrigerant: true, Certificate: "II 1"}
	ben := record.Person{Name: "Ben", Role: "apprentice"}
	olga := record.Person{Name: "Olga"} // in the office
	for _, c := range []struct {
		author, typed, want record.Person
		denied              bool
	}{
		{author: ada, typed: record.Person{Name: "ada", Role: "apprentice"}, want: ada},
		{author: ben, typed: record.Person{Name: "Ben", Role: "mechanic", Gas: true}, want: ben},
		{author: ben, typed: record.Person{Name: "Ada", Role: "mechanic"}, denied: true},
		{author: ada, typed: record.Person{Name: "Carl", Role: "mechanic"}, want: record.Person{Name: "Carl", Role: "mechanic"}},
		{author: olga, typed: ada, want: ada},
		{author: record.Person{}, typed: ben, want: ben},
	} {
		by := By{Author: c.author.Name, Person: c.author, Form: s.NewForm()}
		if by.Author == "" {
			by.Author = "somebody"
		}
		v, err := s.OpenVisit(context.Background(), by, system, OpenInput{Words: "warm", Complaint: "not-cooling", Who: c.typed})
		var e *Error
		if c.denied {
			if !errors.As(err, &e) || e.Kind != Denied {
				t.Errorf("%s opens for %s: %v, want Denied", c.author.Name, c.typed.Name, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s opens for %s: %v", c.author.Name, c.typed.Name, err)
			continue
		}
		if here := must(s.Visit(t.Context(), v))(t); here.Visit.Who != c.want {
			t.Errorf("%s opens for %+v: who works is %+v, want %+v", c.author.Name, c.typed, here.Visit.Who, c.want)
		}
	}
}
