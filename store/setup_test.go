package store_test

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

// TestSetupLink works once and within its hour.
func TestSetupLink(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	token, err := s.NeedsSetup(ctx)
	if err != nil || token == "" {
		t.Fatal(token, err)
	}
	n := newClub("C")
	if _, err := s.CreateClub(ctx, club.NewSecret(0), n); game.KindOf(err) != game.Gone {
		t.Errorf("a made-up link: %v", err)
	}
	if _, err := s.CreateClub(ctx, token, n); err != nil {
		t.Fatal(err)
	}
	if _, err := s.CreateClub(ctx, token, n); game.KindOf(err) != game.Gone {
		t.Errorf("the link again: %v", err)
	}
	if again, err := s.NeedsSetup(ctx); err != nil || again != "" {
		t.Errorf("a second set-up link: %q, %v", again, err)
	}
}

// newClub is what a set-up form says.
func newClub(name string) club.NewClub {
	return club.NewClub{Club: name, Name: "N", Email: name + "@c.example", Password: "fifteen letters or more",
		Welfare: "W", Contact: "There"}
}

// TestSetupLinksOfSeveralNodes: each link that was printed before there is a
// club is good for its hour; the first that is used ends the others.
func TestSetupLinksOfSeveralNodes(t *testing.T) {
	t.Parallel()
	url, now := storetest.URL(t), time.Now()
	var links []club.Secret
	var last *store.Store
	for node := range 4 {
		at := now.Add(time.Duration(node) * 20 * time.Minute)
		s, err := store.Open(ctx, url, func() time.Time { return at })
		if err != nil {
			t.Fatal(err)
		}
		defer s.Close()
		token, err := s.NeedsSetup(ctx)
		if err != nil || token == "" {
			t.Fatalf("node %d: %q, %v", node, token, err)
		}
		links, last = append(links, token), s
	}
	if _, err := last.CreateClub(ctx, links[0], newClub("late")); game.KindOf(err) != game.Gone {
		t.Errorf("after its hour: %v", err)
	}
	if _, err := last.CreateClub(ctx, links[1], newClub("good")); err != nil {
		t.Errorf("the second link of four: %v", err)
	}
	for i, link := range links {
		if _, err := last.CreateClub(ctx, link, newClub("more")); game.KindOf(err) != game.Gone {
			t.Errorf("link %d after the club was made: %v", i, err)
		}
	}
}

// TestSetupLinksAtOnce: of two links that are used at the same instant on two
// nodes one makes the club.
func TestSetupLinksAtOnce(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	var nodes [2]*store.Store
	var links [2]club.Secret
	var errs [2]error
	for i := range nodes {
		var err error
		if nodes[i], err = store.Open(ctx, url, time.Now); err != nil {
			t.Fatal(err)
		}
		defer nodes[i].Close()
		if links[i], err = nodes[i].NeedsSetup(ctx); err != nil || links[i] == "" {
			t.Fatal(links[i], err)
		}
	}
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	held, err := conn.Begin(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := held.Exec(ctx, "select from keys where kind = 'setup' for update"); err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for i := range nodes {
		wg.Go(func() { _, errs[i] = nodes[i].CreateClub(ctx, links[i], newClub(fmt.Sprint("club-", i))) })
	}
	queued(t, held, 2) // as far as both get
	if err := held.Commit(ctx); err != nil {
		t.Fatal(err)
	}
	wg.Wait()
	made := 0
	for _, err := range errs {
		if err == nil {
			made++
		} else if game.KindOf(err) != game.Gone {
			t.Errorf("the other is told %v", err)
		}
	}
	var clubs int
	if err := conn.QueryRow(ctx, "select count(*) from clubs").Scan(&clubs); err != nil || made != 1 || clubs != 1 {
		t.Errorf("%d made, %d clubs, %v", made, clubs, err)
	}
}

// queued returns when so many others of the database wait for a lock.
func queued(t *testing.T, held pgx.Tx, n int) {
	t.Helper()
	short, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	for waiting := 0; waiting < n; {
		const q = `select count(*) from pg_stat_activity where datname = current_database() and wait_event_type = 'Lock'`
		if err := held.QueryRow(short, q).Scan(&waiting); err != nil {
			t.Fatal(err)
		}
		if _, err := held.Exec(short, "select pg_stat_clear_snapshot()"); err != nil {
			t.Fatal(err)
		}
	}
}
