package account

import (
	"encoding/json"
	"strings"

	"rung/internal/journal"
)

// Names of the lists.
const (
	listAccounts = "account" // by key: Account
	listPhones   = "phone"   // by id: phoneRow
)

// phoneRow is a phone in the list, with the stream where it stands.
type phoneRow struct {
	Phone
	Token string `json:"token"` // SHA-256 of the token, hex
}

// Summary returns the lists, for the store of the accounts to keep. No password,
// token or code is in them.
func Summary() journal.Summary { return journal.Summary{Version: "account-2", Rows: rows} }

func rows(s journal.Stream, envelopes []journal.Envelope) []journal.Row {
	if key, ok := strings.CutPrefix(string(s), accountStream); ok {
		if a, found, err := foldAccount(key, envelopes); found && err == nil {
			return []journal.Row{row(listAccounts, key, a)}
		}
	}
	if token, ok := strings.CutPrefix(string(s), phoneStream); ok {
		if p, found, err := foldPhone(token, envelopes); found && err == nil {
			return []journal.Row{row(listPhones, p.ID, phoneRow{p, token})}
		}
	}
	return nil
}

func row(list, key string, value any) journal.Row {
	b, err := json.Marshal(value)
	if err != nil {
		panic("account: " + err.Error()) // the structs hold nothing that JSON lacks
	}
	return journal.Row{List: list, Key: key, Value: b}
}
