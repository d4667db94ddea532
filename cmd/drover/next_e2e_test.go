package main

import "testing"

// TestWhatComesNext: a coach of a new club comes from the first page to what comes next,
// gives it to all of a group in one tap, loads the page again and goes back and gives it once
// more, which gives nothing twice, and undoes it. By keyboard one line is put off and one is given; both are gone.
func TestWhatComesNext(t *testing.T) {
	s := startServer(t)
	b := newTab(t, 1280, 900)
	makeClub1(b, s)
	addClass(b, s, 6)
	b.open(s.base + "/since")
	b.click(".next-link a")
	b.at("/next")
	b.sees("What comes next for 6 students")
	b.sees("Two rooks: mate")
	b.sees("Nothing is known yet: two rooks is the first ending")
	b.click(".group-pills a:last-child")
	b.wait(`location.search.includes("group=") && document.querySelectorAll(".next-lines li").length === 6`)
	b.click(`.go[value="all"]`)
	b.sees("Given to 6 students.")
	b.sees("Nothing comes next just now.")
	b.reload()
	b.sees("Given to 6 students.")
	given := must[string](b, `location.href`)
	b.back()
	b.wait(`!location.search.includes("given")`)
	b.sees("What comes next for 6 students") // as it was: the browser has kept the page
	b.click(`.go[value="all"]`)
	b.wait(`location.href === "` + given + `"`)
	b.sees("6 students have theirs already.")
	b.click(`form[action^="/undo/"] button`)
	b.wait(`location.pathname + location.search === "/next?undone"`)
	b.sees("What comes next for 6 students")

	b.resize(390, 844)
	b.tabTo(`.next-lines [value^="later"]`)
	b.press(keyEnter)
	b.sees("Not now: Child 0.")
	b.sees("What comes next for 5 students")
	if must[bool](b, `document.querySelector(".next-blocks").textContent.includes("Child 0")`) {
		t.Error("the line that was put off is still there")
	}
	b.tabTo(`.next-lines [value^="one"]`)
	b.press(keyEnter)
	b.sees("Given to Child 1.")
	b.sees("What comes next for 4 students")
	b.tabTo(`form[action^="/undo/"] button`)
	b.press(keyEnter)
	b.sees("It is as it was before.")
	b.sees("What comes next for 5 students")
	if wide := must[int](b, `document.documentElement.scrollWidth - innerWidth`); wide > 0 {
		t.Errorf("the page is wider by %d", wide)
	}
	b.open(s.base + "/set")
	b.sees("Nothing is set just now.")
}
