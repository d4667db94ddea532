package store

import (
	"context"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
)

// NotedOnPage is how many rows of the audit one page lists.
const NotedOnPage = 50

// NotedAsk says which rows of the audit are asked for.
type NotedAsk struct {
	Who      string    // part of a name, or a child's number; empty: anybody
	From, To time.Time // zero: no bound
	Page     int       // from 1
	Few      int       // so many and no more; 0: a page
}

// Noted is a row of the audit with the names that its ids have now.
type Noted struct {
	ID        int64
	At        time.Time
	Actor     string // empty: nobody, or somebody at the server
	ActorRole game.Role
	Action    string
	Subject   string // empty: nobody, or somebody who is not known any more
	Role      game.Role
	Number    int // a child's
	Self      bool
	Detail    string
	Reason    string // why an officer opened a child's games
}

// Audit lists who did and read what, for an officer, the last first; more says whether
// there are older rows.
func (s *Store) Audit(ctx context.Context, a game.Actor, ask NotedAsk) (rows []Noted, more bool, err error) {
	if err := isOfficer(a); err != nil {
		return nil, false, err
	}
	found, err := s.askedFor(ctx, a.Club, ask.Who)
	if err != nil {
		return nil, false, err
	}
	most := ask.Few
	if most == 0 {
		most = NotedOnPage
	}
	const q = `select a.id, a.at, a.action, a.detail,
			coalesce(act.name, '') as actor,
			coalesce(act.role, '') as actor_role,
			coalesce(sub.name, '') as subject,
			coalesce(sub.role, '') as role,
			coalesce(sub.number, 0) as number,
			coalesce(a.actor_id = a.subject_id, false) as self,
			coalesce(r.words, '') as reason
		from audit a
		left join people act on act.club_id = a.club_id and act.id = a.actor_id
		left join people sub on sub.club_id = a.club_id and sub.id = a.subject_id
		left join reasons r on r.club_id = a.club_id and a.action = 'games opened' and a.detail = 'reason ' || r.id
		where a.club_id = @club and (@any or a.actor_id = any(@found) or a.subject_id = any(@found))
			and (@from::timestamptz is null or a.at >= @from) and (@to::timestamptz is null or a.at < @to)
		order by a.id desc
		limit @most offset @skip`
	rows, err = readAll[Noted](ctx, s.pool, q, args{
		"club": a.Club, "any": strings.TrimSpace(ask.Who) == "", "found": found, "from": orNever(ask.From), "to": orNever(ask.To),
		"most": most + 1, "skip": most * (max(ask.Page, 1) - 1),
	})
	if more = len(rows) > most; more {
		rows = rows[:most]
	}
	return rows, more, translate(err)
}

// askedFor are the people whom a search means: those of a number, else those whose name
// has the text in it.
func (s *Store) askedFor(ctx context.Context, c game.ClubID, who string) ([]game.PersonID, error) {
	who = strings.TrimSpace(who)
	number, _ := strconv.ParseInt(who, 10, 32) // no child has the number 0
	const q = `select coalesce(array_agg(id), '{}')
		from people
		where club_id = @club and (@number > 0 and number = @number
			or @number = 0 and strpos(lower(name), @name) > 0)`
	var found []game.PersonID
	err := s.pool.QueryRow(ctx, q, args{"club": c, "number": number, "name": strings.ToLower(club.Tidy(who))}).Scan(&found)
	return found, translate(err)
}

// orNever is a time, or null for the zero time.
func orNever(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}
