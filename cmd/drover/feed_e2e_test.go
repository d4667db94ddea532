package main

import (
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"
)

// makesFeed goes from a page to that of the calendar feed, reads there what others can see,
// and makes the address.
func makesFeed(b *tab, from, to string) string {
	b.Helper()
	b.open(from)
	b.click(fmt.Sprintf(`main a[href=%q]`, to))
	b.at(to)
	b.sees("Calendars are kept by other companies.")
	if must[bool](b, `document.querySelector('#url') !== null`) {
		b.Error("there is an address before anybody asked for one")
	}
	b.click("main form .go")
	b.wait(`document.querySelector('#url')`)
	if say := must[string](b, `document.querySelector('label[for="url"]').innerText`); say != "The address" {
		b.Errorf("the field is called %q", say)
	}
	b.sees("No calendar has read it yet.")
	return must[string](b, "document.querySelector('#url').value")
}

// readsFeed asks for a feed as a calendar does: without a browser and without a cookie.
func readsFeed(t *testing.T, address string) (status int, text string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, string(body)
}

// TestCalendarFeed: a coach and a guardian each make the address of a feed, and a calendar
// reads it; the guardian's is dead as soon as the coach stops the link, the coach's as soon
// as the coach ends it.
func TestCalendarFeed(t *testing.T) {
	s := startServer(t)
	coach := newTab(t, 1280, 900)
	makeClub1(coach, s)
	wick := addPupil(coach, s, "Wick")
	give(coach, s, "ending=KRK", map[string]string{"fens": "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", "name": "Wicks rook"})
	s.sql("update assignments set due_on = current_date + 1")
	guardian := newTab(t, 390, 844)
	guardian.open(wick.link)
	guardian.at("/report")
	own, family := makesFeed(coach, s.base+"/account", "/account/calendar"), makesFeed(guardian, s.base+"/report", "/report/calendar")
	for _, address := range []string{own, family} {
		status, text := readsFeed(t, address)
		if status != http.StatusOK || strings.Count(text, "SUMMARY:Drover: 1 drill due\r\n") != 1 ||
			strings.Contains(text, "Wick") || !strings.Contains(text, "\r\nURL:"+s.base+"/in\r\n") {
			t.Errorf("%d\n%s", status, text)
		}
	}
	guardian.reload()
	guardian.sees("A calendar last read it today.")

	var student int
	s.sql("select id from people where name = 'Wick'", &student)
	coach.open(fmt.Sprintf("%s/students/%d", s.base, student))
	must[bool](coach, `(document.querySelectorAll('details').forEach((d) => { d.open = true; }), true)`)
	coach.click(`form[action$="/revoke"] button`)
	dead := func(address string) {
		t.Helper()
		began := time.Now()
		if err := until(patience, func() bool { status, _ := readsFeed(t, address); return status == http.StatusNotFound }); err != nil {
			t.Error(err)
		}
		took := time.Since(began)
		t.Logf("dead %s after the button (goal: 5 s)", took.Round(time.Millisecond))
		if took > 5*time.Second {
			t.Error("that is too long")
		}
	}
	dead(family)
	coach.sees("stopped")
	coach.open(s.base + "/account/calendar")
	coach.click(`form[action="/account/calendar/end"] button`)
	dead(own)
	coach.wait(`document.querySelector('#url') === null`)
	coach.sees("Before you make an address")
}
