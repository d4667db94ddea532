package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// ShownKind says what a session is shown again.
type ShownKind string

// The kinds of thing that a session is shown again.
const (
	ShownCard  ShownKind = "card"  // a club.Card, of a student
	ShownLink  ShownKind = "link"  // a club.Link, of a guardian
	ShownDraft ShownKind = "draft" // a form that is being written

	ShownInvite  ShownKind = "invite"  // a link to join, of the owner who made it
	ShownOfficer ShownKind = "officer" // a welfare officer's link to join, of who made it
	ShownFactor  ShownKind = "factor"  // a club.Factor that is being set up, of a coach
	ShownCodes   ShownKind = "codes"   // a coach's recovery codes
	ShownReset   ShownKind = "reset"   // a Reset, of a coach
	ShownSheet   ShownKind = "sheet"   // a club.Card of a sheet, locked up in the session's box
	ShownFeed    ShownKind = "feed"    // the token of a calendar feed, of its owner
)

// ShownFor is how long a card or a link is shown.
const ShownFor = 10 * time.Minute

// draftFor is longer: somebody may be called away from a form.
const draftFor = 12 * time.Hour

// show keeps what a session may be shown again for a while, sealed so that the
// database alone gives it to nobody. Without a session nothing is kept.
func (s *Store) show(ctx context.Context, tx pgx.Tx, session club.Secret, kind ShownKind, subject int64,
	what any) error {
	c, ok := session.Club()
	if !ok {
		return nil
	}
	plain, err := json.Marshal(what)
	if err != nil {
		return fmt.Errorf("write a %s: %w", kind, err)
	}
	sealed, err := session.Seal(string(kind), subject, plain)
	if err != nil {
		return err
	}
	return s.keepShown(ctx, tx, c, shownRow{session.Hash(), kind, subject, sealed})
}

// shownRow is what one session may be shown, sealed.
type shownRow struct {
	session []byte // its hash
	kind    ShownKind
	subject int64
	sealed  []byte
}

// keepShown keeps it for as long as its kind allows, and forgets what is over.
func (s *Store) keepShown(ctx context.Context, tx pgx.Tx, c game.ClubID, row shownRow) error {
	if _, err := tx.Exec(ctx, `delete from shown where club_id = $1 and expires_at <= $2`, c, s.now()); err != nil {
		return err
	}
	until := s.now().Add(ShownFor)
	if row.kind == ShownDraft || row.kind == ShownFactor {
		until = s.now().Add(draftFor)
	}
	const q = `insert into shown (club_id, session, kind, subject_id, sealed, expires_at)
		values (@club, @session, @kind, @subject, @sealed, @until)
		on conflict (club_id, session, kind, subject_id) do update set
			sealed = excluded.sealed,
			expires_at = excluded.expires_at`
	_, err := tx.Exec(ctx, q, args{
		"club": c, "session": row.session, "kind": row.kind, "subject": row.subject, "sealed": row.sealed, "until": until,
	})
	return err
}

// unshow forgets what any session was shown of a subject: it is no longer true.
func unshow(ctx context.Context, tx pgx.Tx, c game.ClubID, kind ShownKind, subject game.PersonID) error {
	_, err := tx.Exec(ctx, `delete from shown where club_id = $1 and kind = $2 and subject_id = $3`, c, kind, subject)
	return err
}

// Shown reads what was kept for a session; in another session, and when the time
// is over, it is missing.
func (s *Store) Shown(ctx context.Context, session club.Secret, kind ShownKind, subject int64, into any) error {
	c, ok := session.Club()
	if !ok {
		return missing()
	}
	var sealed []byte
	const q = `select sealed
		from shown
		where club_id = @club and session = @session and kind = @kind and subject_id = @subject and expires_at > @now`
	err := s.pool.QueryRow(ctx, q, args{
		"club": c, "session": session.Hash(), "kind": kind, "subject": subject, "now": s.now(),
	}).Scan(&sealed)
	if err != nil {
		return translate(err)
	}
	plain, err := session.Unseal(string(kind), subject, sealed)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(plain, into); err != nil {
		return fmt.Errorf("read a %s: %w", kind, err)
	}
	return nil
}

// KeepDraft keeps a form that a session is writing, and gives the number under
// which Shown has it.
func (s *Store) KeepDraft(ctx context.Context, session club.Secret, form any) (int64, error) {
	if _, ok := session.Club(); !ok {
		return 0, missing()
	}
	no := newDraft()
	err := s.tx(ctx, func(tx pgx.Tx) error { return s.show(ctx, tx, session, ShownDraft, no, form) })
	return no, err
}
