package main

import "testing"

// TestPlayItNow: a coach tries a drill out on the student's own board page, to its end and
// back; it counts for nobody.
func TestPlayItNow(t *testing.T) {
	s := startServer(t)
	coach := newTab(t, 390, 844)
	makeClub1(coach, s)
	s.sql("update clubs set pace = 40")
	coach.open(s.base + "/drills/new?ending=KQK")
	coach.fill(map[string]string{"fens": "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1", "clock": "1", "increment": "3"})
	coach.click(`[name="kind"][value="pasted"]`)
	coach.click(`[name="do"][value="play"]`) // what is not kept is tried out too, and is still there afterwards
	coach.at("/play/")
	coach.ready(1)
	coach.click(".tell")
	coach.at("/drills/new")
	coach.wait(`document.querySelector('[name="fens"]').value === '7k/8/6K1/8/8/8/5Q2/8 w - - 0 1' &&
		document.querySelector('[name="increment"]').value === '3'`)
	var kept int
	if s.sql("select count(*) from drills where ready is null", &kept); kept != 0 {
		t.Errorf("%d drills are kept", kept)
	}
	coach.click(`[name="do"][value="assign"]`)
	coach.wait(`document.querySelector('form.try-out')`)
	drill := must[string](coach, "location.pathname")
	coach.click(".try-out button")
	coach.at("/play/")
	coach.ready(1)
	coach.wait(`document.querySelector(".tell").innerText.trim() === "Drill"`)
	coach.wait(`/^[01]:\d\d \+3$/.test(document.querySelector('#clock-left').parentElement.textContent.replace('Time left ', ''))`)

	coach.tapTap("f2f7", "") // stalemate: the win goes, and the move is taken back
	coach.sees("The win is gone")
	coach.sees("Back to the drill")
	coach.click("#after .go")
	coach.ready(1)
	_, san, _ := coach.best(newJudge(t), 0)
	coach.typed("", san)
	coach.sees("Checkmate in 1 move")
	if must[bool](coach, `document.body.innerText.includes('Someone helped me') || document.body.innerText.includes('See the game') ||
		document.body.innerText.includes('Tell')`) {
		t.Error("the end is a child's")
	}
	coach.click(`#after [value="today"]`)
	coach.wait("location.pathname === '" + drill + "'")
	var kinds string
	s.sql(`select string_agg(kind || ' ' || counts || ' ' || "end", ',') || (select count(*) from stage_results)
		|| (select count(*) from overviews) from games where drill_id is not null`, &kinds)
	if kinds != "trial false mate00" {
		t.Errorf("the records have %s", kinds)
	}
}
