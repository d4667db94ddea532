package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"drover/game"

	"github.com/jackc/pgx/v5"
)

// ErasedList is who was erased, so that nobody comes back with an older backup, and which
// numbers were given out, so that none is given twice. As text it has the SHA-256 of a mark on
// each line, in hexadecimal, and lines such as 'greatest people_id_seq 412'. Lines are only
// ever added; of several for one sequence the greatest holds. A line that begins with # says
// something to people, and one that ends with it was cut short.
type ErasedList struct {
	Hashes   map[string]bool  // in hexadecimal
	Greatest map[string]int64 // by sequence
}

// erasedHead begins a list.
const erasedHead = "# Who was erased (SHA-256 of a random mark), and the greatest numbers given out. Never shorten this file.\n"

// ReadErasedList reads a list. A last line without an end was cut short while it was written,
// and is left out; its writer adds it again.
func ReadErasedList(text string) (ErasedList, error) {
	l := ErasedList{map[string]bool{}, map[string]int64{}}
	no := 0
	for line := range strings.Lines(text) {
		no++
		word, whole := strings.CutSuffix(line, "\n")
		if !whole || word == "" || word[0] == '#' || strings.HasSuffix(word, "#") {
			continue
		}
		if isHash(word) {
			l.Hashes[strings.ToLower(word)] = true
			continue
		}
		f := strings.Fields(word)
		if len(f) != 3 || f[0] != "greatest" {
			return l, fmt.Errorf("line %d is none of a list of erased people. Take the list from the data folder or from beside a backup", no)
		}
		n, err := strconv.ParseInt(f[2], 10, 64)
		if err != nil {
			return l, fmt.Errorf("line %d of the list of erased people: %w", no, err)
		}
		l.Greatest[f[1]] = max(l.Greatest[f[1]], n)
	}
	return l, nil
}

// What a list that somebody gives by hand is refused for. A failed copy must not be taken for a
// list of nobody: then whoever was erased would come back.
var (
	errEmptyList = game.Fail(game.Bad, "This list is empty, and even a list of nobody has its first line. Give erased.txt of a data folder, "+
		"or the .erased file of the latest backup. If nobody was erased since this backup, say --no-erased-list.")
	errNoHead = game.Fail(game.Bad, "This is no list of erased people: its first line does not begin with '# Who was erased'. "+
		"Give erased.txt of a data folder, or the .erased file of the latest backup.")
	errCutList = game.Fail(game.Bad, "The last line is cut short: this list was not copied to its end. Copy all of it once more.")
)

// GivenErasedList reads a list that somebody gives by hand, of which nothing may be missing. A
// last hash that is whole counts, though its line has no end: editors leave that out.
func GivenErasedList(text string) (ErasedList, error) {
	if strings.TrimSpace(text) == "" {
		return ErasedList{}, errEmptyList
	}
	for line := range strings.Lines(text) {
		if line == erasedHead {
			break
		}
		if !strings.HasPrefix(line, "#") { // a first line that was cut while a node wrote it stands before
			return ErasedList{}, errNoHead
		}
	}
	last := text[strings.LastIndex(text, "\n")+1:]
	if last != "" && !isHash(last) {
		return ErasedList{}, errCutList
	}
	return ReadErasedList(text + "\n")
}

func isHash(word string) bool {
	hash, err := hex.DecodeString(word)
	return err == nil && len(hash) == sha256.Size
}

// Add puts what another list has into this one.
func (l ErasedList) Add(other ErasedList) {
	maps.Copy(l.Hashes, other.Hashes)
	for name, n := range other.Greatest {
		l.Greatest[name] = max(l.Greatest[name], n)
	}
}

// Beyond is what this list has and another one has not, as text to add to that; empty: nothing
// that matters, since numbers go into the list with whoever is erased.
func (l ErasedList) Beyond(other ErasedList) string {
	var out strings.Builder
	for _, hash := range slices.Sorted(maps.Keys(l.Hashes)) {
		if !other.Hashes[hash] {
			out.WriteString(hash + "\n")
		}
	}
	if out.Len() == 0 && len(other.Greatest) > 0 {
		return ""
	}
	for _, name := range slices.Sorted(maps.Keys(l.Greatest)) {
		if l.Greatest[name] > other.Greatest[name] {
			fmt.Fprintf(&out, "greatest %s %d\n", name, l.Greatest[name])
		}
	}
	return out.String()
}

// Text is the whole list.
func (l ErasedList) Text() string {
	return erasedHead + l.Beyond(ErasedList{})
}

// ErasedSoFar reads from the database who was erased, and the greatest numbers given out.
func (s *Store) ErasedSoFar(ctx context.Context) (ErasedList, error) {
	l, err := erasedSoFar(ctx, s.pool)
	return l, translate(err)
}

// ErasedCount counts who was erased: where that has not changed, no list has.
func (s *Store) ErasedCount(ctx context.Context) (n int, err error) {
	err = s.quick.QueryRow(ctx, `select count(*) from erased`).Scan(&n)
	return n, translate(err)
}

// ErasedIn is ErasedSoFar over a connection of the owner's. A schema of before people were
// erased has nobody.
func ErasedIn(ctx context.Context, conn *pgx.Conn) (ErasedList, error) {
	there, err := has(ctx, conn, "erased")
	if err != nil || !there {
		return ErasedList{map[string]bool{}, map[string]int64{}}, err
	}
	return erasedSoFar(ctx, conn)
}

func erasedSoFar(ctx context.Context, from querier) (ErasedList, error) {
	l := ErasedList{map[string]bool{}, map[string]int64{}}
	rows, err := from.Query(ctx, `select encode(hash, 'hex') from erased`)
	if err != nil {
		return l, err
	}
	hashes, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return l, err
	}
	for _, h := range hashes {
		l.Hashes[h] = true
	}
	type sequence struct {
		Name string
		Last int64
	}
	const q = `select sequencename::text as name, last_value as last from pg_sequences
		where schemaname = 'public' and last_value is not null`
	all, err := readAll[sequence](ctx, from, q)
	for _, s := range all {
		l.Greatest[s.Name] = s.Last
	}
	return l, err
}

// EraseListed erases, as the schema's owner, whoever of a list is in the database, with the
// guardians who have no other child; lets numbers go on above those of the list; and keeps the
// list. say is told how many there are before anybody is erased.
func EraseListed(ctx context.Context, address string, l ErasedList, say func(people int)) error {
	conn, err := pgx.Connect(ctx, address)
	if err != nil {
		return fmt.Errorf("connect as owner: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	hashes := make([][]byte, 0, len(l.Hashes))
	for h := range l.Hashes {
		hash, _ := hex.DecodeString(h) // it was one when it was read
		hashes = append(hashes, hash)
	}
	err = transact(ctx, conn, bare, func(tx pgx.Tx) error { return eraseListed(ctx, tx, hashes, l.Greatest, say) })
	if err != nil {
		return fmt.Errorf("erase again who was erased: %w", err)
	}
	return nil
}

func eraseListed(ctx context.Context, tx pgx.Tx, hashes [][]byte, greatest map[string]int64, say func(int)) error {
	type row struct {
		Club int64
		Who  []int64
	}
	const q = `select p.club_id as club, array_agg(distinct w.id) as who
		from people p
		cross join lateral unnest(with_guardians(p.club_id, p.id)) w(id)
		where sha256(p.mark) = any($1)
		group by p.club_id`
	clubs, err := readAll[row](ctx, tx, q, hashes)
	if err != nil {
		return err
	}
	n := 0
	for _, c := range clubs {
		n += len(c.Who)
	}
	say(n)
	for _, c := range clubs {
		if _, err := tx.Exec(ctx, `select erase_rows($1, $2)`, c.Club, c.Who); err != nil {
			return err
		}
		const note = `insert into audit (club_id, action, subject_id, detail)
			select $1, 'erased', id, 'again, after a restore' from unnest($2::bigint[]) t(id)`
		if _, err := tx.Exec(ctx, note, c.Club, c.Who); err != nil {
			return err
		}
	}
	const keep = `insert into erased (hash) select unnest($1::bytea[]) on conflict do nothing`
	if _, err := tx.Exec(ctx, keep, hashes); err != nil {
		return err
	}
	for name, least := range greatest {
		const up = `select setval(format('public.%I', sequencename)::regclass, greatest(last_value, $2))
			from pg_sequences where schemaname = 'public' and sequencename = $1`
		if _, err := tx.Exec(ctx, up, name, least); err != nil {
			return err
		}
	}
	return nil
}
