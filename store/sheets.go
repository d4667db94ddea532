package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// Sheet is a sheet of cards as far as it is made.
type Sheet struct {
	ID    game.SheetID
	At    time.Time
	Of    int      // cards
	Done  int      // of these
	Made  int      // of those that are done; the others had a card, or may have none, meanwhile
	Not   []string // names of those that were done and not made
	Cards []club.Card
}

// sheetLife is how long what came of a sheet is kept.
const sheetLife = 24 * time.Hour

// MakeCards asks for a card for each student, which jobs make one by one. A card that is
// there is replaced only if the student is among replace; the old one and every session
// opened with it end then. If the form was sent before, it gives the sheet of then.
func (s *Store) MakeCards(ctx context.Context, a game.Actor, fresh, replace []game.PersonID, sent ...Sent) (game.SheetID, error) {
	if len(fresh)+len(replace) == 0 {
		return 0, game.Fail(game.Bad, "Nobody is chosen. Tick the students first.")
	}
	id, err := s.once(ctx, a, sent, func(tx pgx.Tx, in Sent) (int64, error) {
		box, err := in.Session.Box()
		if err != nil {
			return 0, game.Wrap(game.Denied, "Cards are shown to the session that asks for them. Sign in again.", err)
		}
		var id game.SheetID
		const q = `insert into sheets (club_id, by_id, session, box, at)
			values (@club, @by, @session, @box, @now)
			returning id`
		err = tx.QueryRow(ctx, q, args{
			"club": a.Club, "by": a.Person, "session": in.Session.Hash(), "box": []byte(box), "now": s.now(),
		}).Scan(&id)
		if err != nil {
			return 0, err
		}
		for _, p := range fresh {
			if err := s.wantCard(ctx, tx, a, id, p, false); err != nil {
				return 0, err
			}
		}
		for _, p := range replace {
			if err := s.wantCard(ctx, tx, a, id, p, true); err != nil {
				return 0, err
			}
		}
		return int64(id), nil
	})
	return game.SheetID(id), err
}

// wantCard puts a student's card on a sheet, once, with the job that makes it.
func (s *Store) wantCard(ctx context.Context, tx pgx.Tx, a game.Actor, id game.SheetID, student game.PersonID, replaces bool) error {
	p, err := pupil(ctx, tx, a.Club, student)
	if err != nil {
		return err
	}
	switch is, err := agreed(ctx, tx, a.Club, student); {
	case err != nil:
		return err
	case !is:
		return club.NotAgreed(p.Name)
	}
	const q = `insert into sheet_cards (club_id, sheet_id, student_id, replaces)
		values (@club, @sheet, @student, @replaces)
		on conflict do nothing`
	row, err := tx.Exec(ctx, q, args{"club": a.Club, "sheet": id, "student": student, "replaces": replaces})
	if err != nil || row.RowsAffected() == 0 {
		return err
	}
	return s.jobs.put(ctx, tx, CardJob{Club: a.Club, Sheet: id, Student: student})
}

// sheetCard is what a job needs to know of one card of a sheet.
type sheetCard struct {
	By       game.PersonID
	Session  []byte
	Box      []byte
	Replaces bool
	HasCard  bool
}

// MakeSheetCard makes one card of a sheet, if it is not done yet. done runs in the
// transaction, at its end.
func (s *Store) MakeSheetCard(ctx context.Context, c game.ClubID, sheet game.SheetID, student game.PersonID,
	done func(pgx.Tx) error) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		const q = `select s.by_id as by, s.session, s.box, c.replaces,
				exists (select from keys k where k.club_id = c.club_id and k.person_id = c.student_id and k.kind = 'card') as has_card
			from sheet_cards c
			join sheets s on s.club_id = c.club_id and s.id = c.sheet_id
			where c.club_id = @club and c.sheet_id = @sheet and c.student_id = @student and c.done_at is null
			for update of c`
		of := args{"club": c, "sheet": sheet, "student": student}
		want, err := readOne[sheetCard](ctx, tx, q, of)
		if errors.Is(err, pgx.ErrNoRows) { // it is done, or the session that asked is over and nobody could see the card
			return done(tx)
		}
		if err != nil {
			return err
		}
		made, err := s.sheetCard(ctx, tx, c, student, want)
		if err != nil {
			return err
		}
		const note = `update sheet_cards set done_at = @now, made = @made
			where club_id = @club and sheet_id = @sheet and student_id = @student`
		if _, err := tx.Exec(ctx, note, args{"club": c, "sheet": sheet, "student": student, "now": s.now(), "made": made}); err != nil {
			return err
		}
		return done(tx)
	})
}

// sheetCard makes a card, unless there is one meanwhile that was not chosen to be replaced,
// or the student has left.
func (s *Store) sheetCard(ctx context.Context, tx pgx.Tx, c game.ClubID, student game.PersonID, want sheetCard) (made bool, err error) {
	if want.HasCard && !want.Replaces {
		return false, nil
	}
	p, err := pupil(ctx, tx, c, student)
	if errors.Is(err, pgx.ErrNoRows) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	card, err := s.makeCard(ctx, tx, game.Actor{Club: c, Person: want.By, Role: game.Coach}, p)
	if err != nil {
		return false, err
	}
	plain, err := json.Marshal(card)
	if err != nil {
		return false, fmt.Errorf("write a card: %w", err)
	}
	locked, err := club.Box(want.Box).Lock(c, string(ShownSheet), int64(student), plain)
	if err != nil {
		return false, err
	}
	return true, s.keepShown(ctx, tx, c, shownRow{want.Session, ShownSheet, int64(student), locked})
}

// SheetOf reads a sheet that a session has asked for, its newest where no is 0, with the
// cards that it is still shown.
func (s *Store) SheetOf(ctx context.Context, session club.Secret, no game.SheetID) (Sheet, error) {
	var sheet Sheet
	c, ok := session.Club()
	if !ok {
		return sheet, missing()
	}
	err := transact(ctx, s.pool, steady, func(tx pgx.Tx) (err error) {
		if sheet, err = sheetOf(ctx, tx, c, session, no); err != nil {
			return err
		}
		sheet.Cards, err = s.sheetCards(ctx, tx, c, session, sheet.ID)
		return err
	})
	return sheet, err
}

func sheetOf(ctx context.Context, tx pgx.Tx, c game.ClubID, session club.Secret, no game.SheetID) (sheet Sheet, err error) {
	const q = `select s.id, s.at, count(*), count(c.done_at), count(*) filter (where c.made),
			coalesce(array_agg(p.name order by lower(p.name), p.id) filter (where c.done_at is not null and not c.made), '{}')
		from sheets s
		join sheet_cards c on c.club_id = s.club_id and c.sheet_id = s.id
		join people p on p.club_id = c.club_id and p.id = c.student_id
		where s.club_id = @club and s.session = @session and (@no::bigint = 0 or s.id = @no)
		group by s.club_id, s.id
		order by s.id desc
		limit 1`
	err = tx.QueryRow(ctx, q, args{"club": c, "session": session.Hash(), "no": no}).Scan(
		&sheet.ID, &sheet.At, &sheet.Of, &sheet.Done, &sheet.Made, &sheet.Not)
	return sheet, err
}

// sheetCards are the cards of a sheet that are still shown, by name.
func (s *Store) sheetCards(ctx context.Context, tx pgx.Tx, c game.ClubID, session club.Secret, id game.SheetID) ([]club.Card, error) {
	const q = `select h.subject_id, h.sealed
		from shown h
		join sheet_cards c on c.club_id = h.club_id and c.sheet_id = @sheet and c.student_id = h.subject_id and c.made
		join people p on p.club_id = c.club_id and p.id = c.student_id
		where h.club_id = @club and h.session = @session and h.kind = @kind and h.expires_at > @now
		order by lower(p.name), p.id`
	rows, err := tx.Query(ctx, q, args{
		"club": c, "sheet": id, "session": session.Hash(), "kind": ShownSheet, "now": s.now(),
	})
	if err != nil {
		return nil, err
	}
	var subject int64
	var locked []byte
	var cards []club.Card
	_, err = pgx.ForEachRow(rows, []any{&subject, &locked}, func() error {
		var card club.Card
		plain, err := session.Unlock(string(ShownSheet), subject, locked)
		if err != nil {
			return err
		}
		if err := json.Unmarshal(plain, &card); err != nil {
			return fmt.Errorf("read a card: %w", err)
		}
		cards = append(cards, card)
		return nil
	})
	return cards, err
}

// CardProgress says how many cards of a sheet are done.
func (s *Store) CardProgress(ctx context.Context, session club.Secret, no game.SheetID) (done, of int, err error) {
	c, ok := session.Club()
	if !ok {
		return 0, 0, missing()
	}
	err = transact(ctx, s.pool, steady, func(tx pgx.Tx) error {
		sheet, err := sheetOf(ctx, tx, c, session, no)
		done, of = sheet.Done, sheet.Of
		return err
	})
	return done, of, err
}
