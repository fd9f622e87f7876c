package visit

import (
	"context"
	"encoding/base64"
	"fmt"
	"io"

	"rung/internal/ledger"
	"rung/internal/record"
)

// shareBytes is the length of the token of a link.
//
// practice: 256 bits cannot be guessed.
const shareBytes = 32

// ShareReport makes a link to the report of a visit for whoever is given it. It
// works until its entry is withdrawn. The same form sent again is the same link.
func (s *Service) ShareReport(ctx context.Context, by By, visit record.VisitID) (record.EntryID, error) {
	p, _, err := s.loadVisit(ctx, visit)
	if err != nil {
		return "", err
	}
	form, err := by.form()
	if err != nil {
		return "", err
	}
	if kind, known := p.Holds(record.EntryID(form.String())); known && kind == "report-shared" {
		return record.EntryID(form.String()), nil
	}
	token, err := s.token()
	if err != nil {
		return "", err
	}
	ids, err := s.write(ctx, by, p, []record.Event{record.ReportShared{Visit: visit, Token: token}})
	if err != nil {
		return "", err
	}
	return ids[0], nil
}

func (s *Service) token() (string, error) {
	if s.random == nil {
		return "", errorf(Denied, "Links can only be made on the server of the shop.")
	}
	b := make([]byte, shareBytes)
	if _, err := io.ReadFull(s.random, b); err != nil {
		return "", fmt.Errorf("visit: no random bits: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(b), nil
}

// SharedReport returns the visit to whose report a link leads. A link that was
// withdrawn is not told from one that never was.
func (s *Service) SharedReport(ctx context.Context, token string) (Here, error) {
	key := ledger.ShareKey(token)
	rows, err := s.log.Rows(ctx, ledger.ListShared, key)
	if err != nil {
		return Here{}, fmt.Errorf("find a link: %w", err)
	}
	for _, r := range rows {
		if r.Key == key {
			return s.Visit(ctx, record.VisitID(r.Value))
		}
	}
	return Here{}, errorf(NotFound, "This link does not lead to a report. Ask who gave it to you for a new one.")
}
