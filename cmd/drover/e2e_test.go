package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"drover/game/board"
	"drover/game/ending"
	"drover/solver"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

// server is `drover serve` as a process of its own on a private Postgres.
type server struct {
	*testing.T
	dir, listen, base string
	settings          []string // beside folder and port
	cmd               *exec.Cmd
	setup             string    // the one-time link
	err               io.Writer // where it writes its log; nil: where the test does
}

// startServer starts one on plain http.
func startServer(t *testing.T) *server {
	t.Helper()
	s := newServer(t)
	s.run()
	return s
}

// startSecure starts one behind an https reverse proxy.
func startSecure(t *testing.T, worse ...func(*http.Request)) *server {
	t.Helper()
	s := newServer(t)
	s.base = startProxy(t, s.listen, worse...)
	s.settings = []string{"DROVER_URL=" + s.base, "DROVER_PROXIES=127.0.0.1/32"}
	s.run()
	return s
}

// freeAddress is a port of this machine on which nobody listens.
func freeAddress(t *testing.T) string {
	t.Helper()
	var lc net.ListenConfig
	l, err := lc.Listen(context.Background(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// newServer has a folder and an address, and does not run yet.
func newServer(t *testing.T) *server {
	t.Helper()
	dir := openDir(t)
	listen := freeAddress(t)
	s := &server{T: t, dir: dir, listen: listen, base: "http://" + listen}
	t.Cleanup(func() {
		if s.cmd != nil && s.cmd.Process != nil {
			_ = s.cmd.Process.Signal(syscall.SIGTERM)
			_ = s.cmd.Wait()
		}
	})
	return s
}

// openDir is a folder that goes with the test, and that others may look into: under root the
// database runs as another user.
func openDir(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "drover-e2e-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	return dir
}

// run starts the process and waits until it says where it is.
func (s *server) run() {
	s.Helper()
	s.cmd = exec.Command(os.Args[0], "serve")
	s.cmd.Env = append(os.Environ(), "DROVER_TEST_RUN=1", "DROVER_DATA="+filepath.Join(s.dir, "pg"),
		"DROVER_LISTEN="+s.listen)
	s.cmd.Env = append(s.cmd.Env, s.settings...)
	s.cmd.Stderr = os.Stderr
	if s.err != nil {
		s.cmd.Stderr = s.err
	}
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		s.Fatal(err)
	}
	if err := s.cmd.Start(); err != nil {
		s.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if strings.Contains(lines.Text(), "/setup#") {
			s.setup = lines.Text()
			break
		}
		if strings.HasPrefix(lines.Text(), "Drover runs at") && s.setup != "" {
			break
		}
	}
}

// kill9 kills the server as the kernel would.
func (s *server) kill9() {
	s.Helper()
	if err := s.cmd.Process.Kill(); err != nil {
		s.Fatal(err)
	}
	_ = s.cmd.Wait() // it was killed
}

// postmaster is the number of the database's first process.
func (s *server) postmaster() int {
	s.Helper()
	b, err := os.ReadFile(filepath.Join(s.dir, "pg/data/postmaster.pid"))
	if err != nil {
		s.Fatal(err)
	}
	pid, err := strconv.Atoi(strings.SplitN(string(b), "\n", 2)[0])
	if err != nil {
		s.Fatal(err)
	}
	return pid
}

// killPostgres kills the database's first process; the server starts it again.
func (s *server) killPostgres() {
	s.Helper()
	if err := syscall.Kill(s.postmaster(), syscall.SIGKILL); err != nil {
		s.Fatal(err)
	}
}

func (s *server) sql(query string, into ...any) {
	s.Helper()
	sqlAt(s.T, filepath.Join(s.dir, "pg"), query, into...)
}

// sqlAt asks the private database of a folder.
func sqlAt(t *testing.T, dir, query string, into ...any) {
	t.Helper()
	ctx := context.Background()
	cfg, err := pgx.ParseConfig("postgres://drover_owner@/drover?port=5432&host=" + filepath.Join(dir, "run"))
	if err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(dir)
	if err != nil {
		t.Fatal(err)
	}
	if os.Geteuid() == 0 { // nobody but the folder's user is let in
		cfg.DialFunc = storetest.DialAs(int(info.Sys().(*syscall.Stat_t).Uid))
	}
	conn, err := pgx.ConnectConfig(ctx, cfg)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	if len(into) == 0 {
		_, err = conn.Exec(ctx, query)
	} else {
		err = conn.QueryRow(ctx, query).Scan(into...)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// child is a student with what the coach's pages gave out.
type pupil struct {
	name, number string
	words        []string
	link         string // the guardian's
}

// TestMainJob is the whole job: a coach makes a club, sets and assigns bishop
// and knight from the first stage; one student plays it to mate on the board,
// through two kills and a reload; another throws the win in the last stages;
// the stage view and the guardians' reports say exactly that.
func TestMainJob(t *testing.T) {
	s := startServer(t)
	coach := newTab(t, 1280, 900)
	makeClub1(coach, s)
	s.sql("update clubs set pace = 40") // so that the test does not wait for replies to be shown
	wick, nan := addPupil(coach, s, "Wick"), addPupil(coach, s, "Nan")
	assign(coach, s)

	one := signInCard(t, s, wick, 820, 1180)
	playToMate(one, s)
	two := signInCard(t, s, nan, 390, 844)
	stage := throwWin(two, s)

	coach.open(s.base + "/stages")
	where := map[ending.Stage]string{ending.Corner: "at the corner", ending.Mate: "just before mate"}[stage]
	coach.sees("Bishop and knight: 1 of 2 games lost")
	if h1 := must[string](coach, "document.querySelector('h1').innerText"); !strings.Contains(h1, where) {
		t.Errorf("the finding is %q, the win went %s", h1, where)
	}
	checkRow(coach, "Wick", 4, ending.Mate, true)
	checkRow(coach, "Nan", 0, stage, false)
	checkReport(t, s, wick, "won it alone", "was won")
	checkReport(t, s, nan, "won none alone yet", "lost "+where)
	checkLedger(s)
}

func makeClub1(b *tab, s *server) {
	b.Helper()
	b.open(s.setup)
	b.wait(`document.querySelector('[name="token"]').value.length > 20`)
	b.fill(map[string]string{"club": "Test club", "name": "Coach Test", "email": "coach@test.example",
		"password": "several plain words here", "welfare": "Officer", "contact": "In the club room"})
	b.click("form .go")
	b.at("/account/factor") // which can wait on the first evening
	b.click(`main a[href="/since"]`)
	b.at("/since")
	b.open(s.setup)
	b.wait(`document.querySelector('[name="token"]')`)
	b.fill(map[string]string{"club": "Again", "name": "N", "email": "n@test.example",
		"password": "several plain words here", "welfare": "W", "contact": "C"})
	b.click("form .go")
	b.sees("used") // the link works once
}

func addPupil(b *tab, s *server, name string) pupil {
	b.Helper()
	b.open(s.base + "/students/new")
	b.fill(map[string]string{"name": name, "consent_by": "Guardian of " + name, "consent_on": "2026-01-05"})
	b.click(`[name="consent"]`)
	b.click(`form[action="/students"] .go`)
	b.wait(`document.querySelector('.press-words')`)
	p := pupil{name: name}
	p.words = strings.Fields(must[string](b, "document.querySelector('.press-words').innerText"))
	p.number = strings.Trim(must[string](b, `document.querySelector('.press').innerText.match(/number (\d+)/)[1]`), " ")
	var id int
	s.sql("select id from people where name = '"+name+"'", &id)
	b.open(fmt.Sprintf("%s/students/%d", s.base, id))
	b.fill(map[string]string{"name": "Guardian of " + name})
	b.click(fmt.Sprintf(`form[action="/students/%d/guardian"] button`, id))
	b.wait(`document.querySelector('#url')`)
	p.link = must[string](b, "document.querySelector('#url').value")
	if len(p.words) != 4 || !strings.Contains(p.link, "/open?for=guardian#") {
		b.Fatalf("pupil %+v", p)
	}
	return p
}

func assign(b *tab, s *server) {
	b.Helper()
	b.open(s.base + "/drills/new")
	b.fill(map[string]string{"from": "centralise", "to": "mate", "count": "1", "seed": "11"})
	b.wait(`document.querySelector('[name="ending"][value="KBNK"]').checked`)
	b.click(`[name="do"][value="assign"]`)
	b.wait(`document.querySelectorAll('[name="student"]').length === 2`)
	must[bool](b, `(document.querySelectorAll('[name="student"]').forEach(c => c.click()), true)`)
	b.click(`form[action$="/assign"] .go`)
	b.at("/drills")
	b.sees("Assigned to Nan and Wick.")
}

func signInCard(t *testing.T, s *server, p pupil, width, height int64) *tab {
	t.Helper()
	b := newTab(t, width, height)
	b.signIn(s, p)
	b.begin()
	return b
}

// signIn goes to today by the card's words.
func (b *tab) signIn(s *server, p pupil) {
	b.Helper()
	b.open(s.base + "/today")
	b.at("/in")
	fields := map[string]string{"number": p.number}
	for i, w := range p.words {
		fields[fmt.Sprint("w", i+1)] = w
	}
	b.fill(fields)
	b.click(`form[action="/in/card"] .go`)
	b.at("/today")
	b.sees("Hello " + p.name)
}

// begin starts the first game that today offers.
func (b *tab) begin() {
	b.Helper()
	b.click(`form[action="/today/start"] .go`)
	b.at("/play/")
	b.ready(1)
}

// ready waits until the student is to make a move of a number.
func (b *tab) ready(move int) {
	b.Helper()
	b.wait(fmt.Sprintf(`document.querySelector('#turn').textContent === 'Your move' &&
		document.querySelector('#turn-line').textContent.startsWith('Move %d,') &&
		document.querySelector('#line').dataset.state === 'saved'`, move))
}

func (b *tab) best(j *ending.Judge, clock int) (uci, san string, mates bool) {
	b.Helper()
	p := b.position('w', clock)
	o, ok, err := j.Best(context.Background(), p)
	if err != nil || !ok {
		b.Fatalf("no winning move in %s: %v", p.FEN(), err)
	}
	return o.Move.UCI(), p.SAN(o.Move), o.After.Plies == 0
}

// playToMate plays the best moves by every kind of hand, through a reload, a
// kill -9 of the server, one of Postgres, and a second tab.
func playToMate(b *tab, s *server) {
	b.Helper()
	j := newJudge(b.T)
	for move := 1; ; move++ {
		b.ready(move)
		uci, san, mates := b.best(j, 2*(move-1))
		switch move {
		case 4:
			b.reload()
			b.ready(move)
			hands[0](b, uci, san)
		case 6:
			s.kill9()
			b.wait(`document.querySelector('#line').dataset.state === 'off'`)
			hands[0](b, uci, san) // tapped while nothing answers: it waits in the page
			b.sees("Your move is kept here")
			s.run()
		case 8:
			s.kill9()
			b.wait(`document.querySelector('#line').dataset.state === 'off'`)
			hands[0](b, uci, san)
			b.sees("Your move is kept here")
			s.run()
			b.reload() // the waiting move survives the reload
		case 10:
			s.killPostgres()
			hands[0](b, uci, san)
		default:
			hands[move%len(hands)](b, uci, san)
		}
		if mates {
			b.sees(fmt.Sprintf("Checkmate in %d moves", move))
			b.sees("FIDE Laws 5.1.1")
			return
		}
		if move > 40 {
			b.Fatal("no mate in forty best moves")
		}
	}
}

func newJudge(t *testing.T) *ending.Judge {
	t.Helper()
	j := ending.NewJudge(solver.NewTables())
	if err := j.Ready(context.Background()); err != nil {
		t.Fatal(err)
	}
	return j
}

// throwWin plays the best moves until the king is shut out of the middle, then
// gives the win away, takes that back, gives it away again and stops.
func throwWin(b *tab, s *server) ending.Stage {
	b.Helper()
	j := newJudge(b.T)
	ctx := context.Background()
	for move := 1; ; move++ {
		b.ready(move)
		if move == 1 { // a step of help is shown, and noted as such
			b.click("#ladder button:nth-child(2)")
			b.wait(`document.querySelector('.rung.shown') &&
				document.querySelector('#help-count').textContent.includes('counts as helped')`)
		}
		p := b.position('w', 2*(move-1))
		look, err := j.Look(ctx, p)
		if err != nil {
			b.Fatal(err)
		}
		stage := look.Plan.Steps[look.Stage].Stage
		if m, ok := losing(ctx, j, p); ok && (stage == ending.Corner || stage == ending.Mate) {
			b.tapTap(m.UCI(), "")
			b.sees("The win is gone")
			b.click("#after .go")
			b.ready(move)
			b.tapTap(m.UCI(), "")
			b.sees("The win is gone")
			b.click(`#after [value="today"]`)
			b.at("/today")
			var kept string
			s.sql("select failed_stage from games where result = 'not won'", &kept)
			if kept != string(stage) {
				b.Fatalf("the win went %s, kept is %s", stage, kept)
			}
			return stage
		}
		uci, san, _ := b.best(j, 2*(move-1))
		hands[move%2](b, uci, san)
	}
}

// losing finds a move after which the win is gone, by a man that is taken.
func losing(ctx context.Context, j *ending.Judge, p board.Position) (board.Move, bool) {
	options, err := j.Options(ctx, p)
	if err != nil {
		return board.Move{}, false
	}
	for _, o := range options {
		if o.After.Outcome == solver.Draw && !p.Play(o.Move).Stalemate() {
			return o.Move, true
		}
	}
	return board.Move{}, false
}

// checkRow holds a student's row of the stage view against what was played.
func checkRow(b *tab, name string, clean int, last ending.Stage, won bool) {
	b.Helper()
	cells := must[[]string](b, fmt.Sprintf(`[...[...document.querySelectorAll('tr')]
		.find((r) => r.innerText.trim().startsWith(%q)).querySelectorAll('td')].map((c) => c.innerText.trim())`, name))
	n := 0
	for _, c := range cells {
		if strings.HasPrefix(c, "1 of 1") {
			n++
		}
	}
	if won && n < clean-1 { // a stage that the start brings with it (par below 2) is not shown
		b.Errorf("%s won every stage, the row says %q", name, cells)
	}
	if !won && !strings.Contains(strings.Join(cells, "|"), "0 of 1") {
		b.Errorf("%s lost at %s, the row says %q", name, last, cells)
	}
}

func checkReport(t *testing.T, s *server, p pupil, says ...string) {
	t.Helper()
	b := newTab(t, 390, 844)
	b.open(p.link)
	b.at("/report")
	for _, text := range append(says, p.name) {
		b.sees(text)
	}
	if at := must[string](b, "location.href"); strings.Contains(at, "#") || !strings.HasPrefix(at, s.base) {
		t.Errorf("the link's secret stays in the address: %s", at)
	}
}

// checkLedger looks into the log: each game's numbers run from 1 without a gap,
// each command of the page stands there once, and each half-move is legal.
func checkLedger(s *server) {
	s.Helper()
	var games, gaps, doubled int
	s.sql(`select count(*), count(*) filter (where n <> top), coalesce(sum(n - ids), 0) from
		(select count(*) n, max(seq) top, count(distinct client_id) ids from acts group by game_id) g`,
		&games, &gaps, &doubled)
	if games != 2 || gaps != 0 || doubled != 0 {
		s.Errorf("%d games, %d with gaps, %d acts doubled", games, gaps, doubled)
	}
}
