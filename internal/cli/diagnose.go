package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"rung/internal/visit"
)

type diagnoseCommand struct {
	Lang string `enum:"en,es" default:"en" help:"Language of the answers: en or es. A case may ask for its own."`
	List bool   `help:"Print every check with its points, units and words, every cause and every repair."`
}

// Run reads one case or an array of them and writes the same shape of answers.
func (c diagnoseCommand) Run(ctx context.Context, env Env) error {
	service, err := env.Visits()
	if err != nil {
		return err
	}
	if c.List {
		return printJSON(env.Stdout, service.Catalogue())
	}
	doc, err := io.ReadAll(env.Stdin)
	if err != nil {
		return fmt.Errorf("read standard input: %w", err)
	}
	language, _ := visit.ParseLanguage(c.Lang) // one of the two
	out, good := ask(visit.WithLanguage(ctx, language), service, bytes.TrimSpace(doc))
	if err := printJSON(env.Stdout, out); err != nil {
		return err
	}
	if !good {
		return errFailed
	}
	return nil
}

// ask answers one case, or each of an array by itself.
func ask(ctx context.Context, s *visit.Service, doc []byte) (any, bool) {
	if len(doc) == 0 || doc[0] != '[' {
		out, err := askOne(ctx, s, doc)
		if err != nil {
			return failure(err), false
		}
		return out, true
	}
	var list []json.RawMessage
	if err := json.Unmarshal(doc, &list); err != nil {
		return failure(err), false
	}
	outs, good := []any{}, true
	for _, element := range list {
		out, err := askOne(ctx, s, element)
		if err != nil {
			outs, good = append(outs, failure(err)), false
			continue
		}
		outs = append(outs, out)
	}
	return outs, good
}

func askOne(ctx context.Context, s *visit.Service, doc []byte) (visit.Answer, error) {
	var q visit.Question
	if err := json.Unmarshal(doc, &q); err != nil {
		return visit.Answer{}, &visit.Error{Kind: visit.Invalid, Message: fmt.Sprintf("Not a case in JSON: %v.", err)}
	}
	return visit.Ask(ctx, s, q)
}

// failure is what stands in place of an answer.
func failure(err error) any {
	type problem struct {
		Kind    visit.Kind `json:"kind"`
		Field   string     `json:"field,omitempty"`
		Message string     `json:"message"`
	}
	p := problem{Kind: "internal", Message: err.Error()}
	var e *visit.Error
	if errors.As(err, &e) {
		p.Kind = e.Kind
		if len(e.Fields) > 0 {
			p.Field = e.Fields[0].Field
			p.Kind = e.Fields[0].Kind
		}
	}
	return map[string]problem{"error": p}
}
