package main

import (
	"context"
	"fmt"
	"testing"

	"drover/game/ending"
)

// TestShufflerOnTheBoard is the journey of that name from the child's chair, and what follows
// it: a rook goes to and fro, at the fourth move the aim is drawn on the board and no help is
// counted; after the end the move is played once more from there, won, and counts for nothing;
// then comes free practice. The cards before the first game go with it.
func TestShufflerOnTheBoard(t *testing.T) {
	s := startServer(t)
	b := newTab(t, 1280, 900)
	makeClub1(b, s)
	p := addPupil(b, s, "Wick")
	give(b, s, "ending=KRK&mode=guided", map[string]string{"from": "edge", "to": "mate", "fens": edgeStart})

	c := newTab(t, 390, 844)
	c.signIn(s, p)
	c.sees("Before your first game")
	c.begin()
	j := newJudge(t)
	for move := 1; move <= 4; move++ {
		if n := must[int](c, `document.querySelectorAll('#board .hurdle, #board .tuft').length`); n > 0 {
			t.Errorf("before move %d the aim is drawn", move)
		}
		c.tapTap(c.idle(j, 2*(move-1)), "")
		c.ready(move + 1)
	}
	c.sees("4 moves and no nearer.")
	c.wait(`document.querySelectorAll('#board .hurdle, #board .tuft').length > 0`)
	if count := must[string](c, `document.querySelector('#help-count').textContent`); count != "A try with help counts as helped" {
		t.Errorf("the aim counts as help: %s", count)
	}
	c.click("#tool-more")
	c.click("#resign")
	c.sees("Stopped here")
	c.sees("One move to look at")

	c.click(".end-look button")
	c.wait(`document.querySelector('#sub')?.textContent === 'once more from move 4'`)
	c.sees("nothing counts here") // and so help does not
	winsAgain(c, j)
	c.wait(`document.querySelector('#after .go')?.textContent === 'Back to the game'`)
	if must[bool](c, `document.querySelector('#after').textContent.includes('Someone helped me')`) {
		t.Error("a game that counts for nothing asks who helped")
	}
	c.click("#after .go")
	c.at("/games/")
	c.sees("Again from here")
	c.click(`.beside a[href="/today"]`)
	c.at("/today")
	if must[bool](c, `document.body.innerText.includes("Before your first game")`) {
		t.Error("the cards stand there after the first game")
	}
	var counted, all int
	s.sql("select count(*) filter (where counts), count(*) from games", &counted, &all)
	if counted != 1 || all != 2 {
		t.Errorf("%d games count of %d", counted, all)
	}

	c.click(`.free-link a`)
	c.at("/free")
	c.click(`[name="side"][value="b"]`)
	c.click(`button[value="KRK.mate"]`)
	c.at("/play/")
	c.wait(`document.querySelector('#sub')?.textContent === 'free practice' && document.querySelector('#turn').textContent === 'Your move'`)
	if count := must[string](c, `document.querySelector('#help-count').textContent`); count != "Help as often as you like: nothing counts here" {
		t.Errorf("help in free practice: %s", count)
	}
}

// edgeStart is a rook ending in which he is driven to the edge.
const edgeStart = "8/8/8/8/3k4/8/6R1/6K1 w - - 0 1"

// idle is a winning move that brings mate no nearer and is no check.
func (b *tab) idle(j *ending.Judge, clock int) string {
	b.Helper()
	p := b.position('w', clock)
	look, err := j.Look(context.Background(), p)
	if err != nil {
		b.Fatal(err)
	}
	options, err := j.Options(context.Background(), p)
	if err != nil {
		b.Fatal(err)
	}
	for _, o := range options {
		if o.Wins() && o.After.Plies == look.Plies+1 && !o.Move.Check {
			return o.Move.UCI()
		}
	}
	b.Fatalf("every move of %s comes nearer or loses", p.FEN())
	return ""
}

// winsAgain plays the best moves to mate.
func winsAgain(b *tab, j *ending.Judge) {
	b.Helper()
	for move := 1; ; move++ {
		b.ready(move)
		uci, _, mates := b.best(j, 2*(move-1))
		b.tapTap(uci, "")
		if mates {
			b.sees(fmt.Sprintf("Checkmate in %d moves", move))
			return
		}
	}
}

// TestStalemateOnTheBoard is the journey 'always stalemate' from the child's chair: the square
// that was missing is named, and the position of one move before is played once more.
func TestStalemateOnTheBoard(t *testing.T) {
	s := startServer(t)
	b := newTab(t, 1280, 900)
	makeClub1(b, s)
	p := addPupil(b, s, "Wick")
	give(b, s, "ending=KQK&mode=guided", map[string]string{"fens": "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1"})
	c := newTab(t, 390, 844)
	c.signIn(s, p)
	c.begin()
	c.tapTap("f2f7", "")
	c.sees("The win is gone")
	c.sees("Leave him one square: he had g8.")
	c.click("#after .go") // the move is taken back
	c.ready(1)
	c.tapTap("f2f8", "")
	c.sees("Checkmate in 1 move")
	c.sees("You took one back: Qf7 would have been stalemate. He needs one free square.")
	c.sees("It counts as helped. This drill is done.") // and no next one is proposed
	if ways := must[string](c, `[...document.querySelectorAll('.end-acts button')].map((b) => b.textContent).join()`); ways !=
		"Back to today,Another try" {
		t.Errorf("the ways on: %s", ways)
	}
	see := must[string](c, `document.querySelector('.end-more a').getAttribute('href')`)
	c.open(s.base + see)
	c.sees("taken back")
	c.click(".review-look button")
	c.wait(`document.querySelector('#sub')?.textContent === 'once more from move 1'`)
	c.ready(1)
	if fen := c.position('w', 0).FEN(); fen != "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1" {
		t.Errorf("it begins at %s", fen)
	}
}
