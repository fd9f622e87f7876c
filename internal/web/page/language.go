package page

import (
	"context"
	_ "embed"
	"strconv"
	"strings"
)

// spanish holds the labels of the pages that are worded in Spanish too, by the
// English: data/spanish.txt, a label in a line, "English | Spanish".
var spanish = readLabels(spanishText)

//go:embed data/spanish.txt
var spanishText string

func readLabels(text string) map[string]string {
	labels := map[string]string{}
	for line := range strings.Lines(text) {
		en, es, is := strings.Cut(strings.TrimSpace(line), " | ")
		if is && !strings.HasPrefix(en, "#") {
			labels[en] = es
		}
	}
	return labels
}

// The languages of the pages, as HTML names them.
const (
	english = "en"
	inES    = "es"
)

type languageKey struct{}

// WithLanguage returns a context under which a page is labelled in a language,
// "es"; English in any other. Only pages whose text comes in that language ask
// for it.
func WithLanguage(ctx context.Context, language string) context.Context {
	return context.WithValue(ctx, languageKey{}, language)
}

// language is the one that the page is in.
func language(ctx context.Context) string {
	if l, _ := ctx.Value(languageKey{}).(string); l == inES {
		return inES
	}
	return english
}

// Say returns a label in the language of the page.
func Say(ctx context.Context, label string) string { return Label(language(ctx), label) }

// Label returns a label in a language. One that is not known in it stays as it
// is.
func Label(language, label string) string {
	if es, known := spanish[label]; known && language == inES {
		return es
	}
	return label
}

// Count puts a number before one or many things.
func Count(ctx context.Context, n int, one, many string) string {
	if n == 1 {
		return "1 " + Say(ctx, one)
	}
	return strconv.Itoa(n) + " " + Say(ctx, many)
}

// Languages is the choice between the languages of advice.
type Languages struct {
	Chosen string // "en" or "es"
	Back   string // the page to go back to
}

// pressed is how a button says whether its choice is the one in force.
func pressed(yes bool) string { return strconv.FormatBool(yes) }
