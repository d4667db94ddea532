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

	b.resize(320, 640) // the narrowest page of WCAG 2.2, 1.4.10
	b.open(s.base + "/next")
	b.sees("What comes next for 5 students")
	if narrow := must[int](b, `[...document.querySelectorAll(".next-lines .with-mark")].filter((p) => p.clientWidth < 150).length`); narrow > 0 {
		t.Errorf("%d names have less than 150 px", narrow)
	}
	b.click(".next-lines .with-mark a")
	b.at("/students/")
	file := must[string](b, `location.href`)
	b.fill(map[string]string{"name": "Wilhelmina Storm-Petersen"})
	b.click(`form[action$="/guardian"] button`)
	b.wait(`!document.querySelector("#guardian-head") && document.readyState === "complete"`)
	b.open(file)
	must[int](b, `[...document.querySelectorAll("main details")].map((d) => d.open = true).length`)
	if wide := must[int](b, `document.documentElement.scrollWidth - innerWidth`); wide > 0 {
		t.Errorf("a student's page is wider by %d", wide)
	}
}
