package store

import (
	"context"
	"errors"
	"strings"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

const noticeColumns = `audience as "for", version, body, hash, again, at`

// Notice reads the version of a notice that is in force.
func (s *Store) Notice(ctx context.Context, c game.ClubID, of club.Audience) (club.Notice, error) {
	return s.NoticeVersion(ctx, c, of, 0)
}

// NoticeVersion reads a version of a notice; 0: the one in force.
func (s *Store) NoticeVersion(ctx context.Context, c game.ClubID, of club.Audience, version int) (club.Notice, error) {
	const q = `select ` + noticeColumns + `
		from notice_texts
		where club_id = @club and audience = @for and (@version = 0 or version = @version)
		order by version desc
		limit 1`
	n, err := readOne[club.Notice](ctx, s.pool, q, args{"club": c, "for": string(of), "version": version})
	if errors.Is(err, pgx.ErrNoRows) && version == 0 {
		return club.OwnNotice(of), nil
	}
	return n, translate(err)
}

// NoticeVersions lists all versions of a club's notices, the latest first.
func (s *Store) NoticeVersions(ctx context.Context, c game.ClubID) ([]club.Notice, error) {
	const q = `select ` + noticeColumns + ` from notice_texts where club_id = $1 order by id desc`
	out, err := readAll[club.Notice](ctx, s.pool, q, c)
	return out, translate(err)
}

// latestNotice is the number and the version of the notice in force; 0: the program's own.
func latestNotice(ctx context.Context, tx pgx.Tx, c game.ClubID, of club.Audience) (id int64, version int, err error) {
	const q = `select id, version from notice_texts where club_id = $1 and audience = $2 order by version desc limit 1`
	err = tx.QueryRow(ctx, q, c, string(of)).Scan(&id, &version)
	if errors.Is(err, pgx.ErrNoRows) {
		err = nil
	}
	return id, version, err
}

// inForce says whether a notice is the one in force. One that was only told can be put in force
// again with the same text, so that guardians are asked.
func inForce(ctx context.Context, tx pgx.Tx, c game.ClubID, n club.Notice) (is bool, err error) {
	const q = `select body, again from notice_texts where club_id = $1 and audience = $2 order by version desc limit 1`
	now := club.OwnNotice(n.For)
	now.Again = true // nobody was told of the program's own words
	err = tx.QueryRow(ctx, q, c, string(n.For)).Scan(&now.Body, &now.Again)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		return false, err
	}
	return n.Body == strings.TrimSpace(now.Body) && (now.Again || !n.Again), nil
}

// KeepNotice makes a new version of a notice. Only an owner does. The notice that is in
// force is no new version.
func (s *Store) KeepNotice(ctx context.Context, a game.Actor, n club.Notice, sent ...Sent) error {
	if err := n.Validate(); err != nil {
		return err
	}
	_, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		if err := mustOwn(ctx, tx, a); err != nil {
			return 0, err
		}
		switch unchanged, err := inForce(ctx, tx, a.Club, n); {
		case err != nil:
			return 0, err
		case unchanged:
			return 0, club.Problems{"body": "Nothing is changed: this is the text that is in force."}.Err()
		}
		const q = `insert into notice_texts (club_id, audience, version, body, hash, again, by_id, at)
			select @club, @for, coalesce(max(version), 0) + 1, @body, @hash, @again, @by, @now
			from notice_texts
			where club_id = @club and audience = @for
			returning id`
		var id int64
		err := tx.QueryRow(ctx, q, args{"club": a.Club, "for": string(n.For), "body": n.Body, "hash": n.Hash, "again": n.Again,
			"by": a.Person, "now": s.now()}).Scan(&id)
		if err != nil {
			return 0, err
		}
		return id, audit(ctx, tx, a, "notice changed", 0, string(n.For))
	})
	return err
}
