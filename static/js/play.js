// The page of one game. The server sends every position and every legal move; the
// page paints them, and paints an own move before it is confirmed. What follows from a
// frame is worked out in model.js; what changes is kept in one object, page.

import { Board } from './board.js';
import { byId, el, icon } from './dom.js';
import { end, proposed } from './end.js';
import { Ladder } from './help.js';
import * as model from './model.js';
import { Outbox } from './outbox.js';
import { mating } from './paint.js';
import { Line } from './socket.js';
import { recent, strip, trail } from './trail.js';
import { turn, verdict } from './verdict.js';
import { why } from './why.js';

const main = byId('main');

const page = {
  state: model.empty,
  since: 0,      // when it became his turn to think, for 'took'
  thinking: '',  // whose turn it is at which half-move
  lost: false,   // the line was cut after it had been up
  reply: 0,      // timer of a reply that is not shown yet
  tick: 0,       // timer of the clock
  alone: 0,      // timer of a wait for a coach's hand
  note: 0,       // timer of a sentence that goes by itself
  then: null,    // what the server proposes after the end
};

const board = new Board(byId('board'), (uci) => move(uci), refuse);
const line = new Line(`/live/games/${main.dataset.game}`, () => page.state.now?.seq || 0, { frame, up, down, none, runs: () => model.runs(page.state) });
const outbox = new Outbox(main.dataset.game, main.dataset.person, line, { state: connection });
const ladder = new Ladder(board, (step) => ask({ do: 'help', step }), tell);

// Sounds are fetched by who wants them alone.
let sounds = null;
if ('sounds' in main.dataset) import('./sound.js').then(({ Sounds }) => { sounds = new Sounds(); });
const sound = (name) => sounds?.play(name);

board.onTurn = () => {
  ladder.layer();
  tell(`The board is turned: ${board.side === 'w' ? 'row 1' : 'row 8'} is at the bottom.`);
};

const words = { saved: ['i-check', 'Saved'], saving: ['i-ring', 'Saving'], late: ['i-off', 'Not saved yet'], off: ['i-off', 'Not connected'] };

function connection(name) {
  if (name !== 'off' && !line.ready) name = outbox.waiting && name === 'late' ? 'late' : 'off';
  const [drawing, word] = words[name];
  const box = byId('line');
  if (box.dataset.state === name) return;
  box.dataset.state = name;
  box.replaceChildren(icon(drawing, null), el('span', { class: 'word' }, word));
  if (outbox.move && page.state.now) verdict(page.state, sending());
}

// sending is what becomes of an own move that has no answer yet.
function sending() {
  const late = byId('line').dataset.state === 'late';
  if (!line.ready || late) return late ? 'late' : 'waits';
  return page.state.game.coach ? 'sent' : 'choosing';
}

function tell(text) { byId('live').textContent = text; }

function note(text, ms) {
  byId('off').textContent = text;
  clearTimeout(page.note);
  page.note = ms ? setTimeout(() => note(''), ms) : 0;
}

function up(same) {
  connection(outbox.waiting ? 'saving' : 'saved');
  if (!same || !page.lost) return;
  page.lost = false;
  back();
}

function down() {
  connection('off');
  const { game, now } = page.state;
  if (!game || now?.turn === 'over') return;
  if (!page.lost) tell('Not connected.');
  page.lost = true;
  if (outbox.move) verdict(page.state, 'waits');
  note(outbox.move ? 'Not connected. Your move is kept here.' : 'Not connected. Your game is kept, and this page goes on trying.');
}

// none says why there is no board yet. The page goes on trying.
function none(there) {
  const say = there
    ? 'The board does not come through. Tell your coach that websockets are blocked on the way to the club\'s server. This page keeps trying.'
    : 'The club\'s server does not answer. The board comes as soon as it does.';
  if (byId('begin')) byId('begin').textContent = say;
  tell(say);
}

// frame takes what the server sends: a whole game, one act, a refusal or a note.
function frame(f) {
  if (f.no) { refused(f); return; }
  const whole = f.game || f.acts;
  if (!whole && !f.act) { if (f.note && f.note.saved === false) connection('late'); return; }
  const known = Boolean(page.state.now);
  const { state, fresh } = model.take(page.state, f);
  page.state = state;
  if (f.game) { board.orient(bottom(f.game.side), f.game.side); names(f.game); }
  if (whole) resume(fresh, known);
  else if (fresh.length) one(fresh[0]);
}

// bottom is the side that stands at the bottom, as this person has it.
function bottom(side) {
  return 'turned' in main.dataset ? { w: 'b', b: 'w' }[side] : side;
}

function names(game) {
  byId('title').textContent = game.title;
  byId('sub').textContent = game.sub;
  main.classList.toggle('looks-on', Boolean(game.coach));
  main.classList.toggle('holds', Boolean(game.hold));
  byId('typed-label').textContent = game.coach ? 'His move' : 'Your move';
}

// resume takes the first frame of a connection; known says that the page had the game
// already, so that the answer to its own move is painted as one.
function resume(fresh, known) {
  const mine = fresh.length === 1 && Boolean(fresh[0].id) && outbox.waiting?.id === fresh[0].id;
  if (mine && known) one(fresh[0]);
  else {
    fresh.forEach((act) => outbox.done(act.id));
    settle();
  }
  if (outbox.waiting) outbox.send(); else connection('saved');
  if (page.lost) back();
  page.lost = false;
}

function back() {
  const { now } = page.state;
  const text = `You're back, and nothing is lost: move ${now.move}${now.turn === 'you' ? ', your turn' : ''}.`;
  note(text, 6000);
  tell(text);
}

// one takes one act: the own move is on the board at once, his reply after the pace.
function one(act) {
  const { game, now } = page.state;
  outbox.done(act.id);
  if (!page.note) note(''); // a sentence with a time of its own stays that long
  clearTimeout(page.reply);
  if (act.hint) { settle(); ladder.take(act); return; }
  const shown = () => {
    if (act.reply && now.turn !== 'over') sound(act.reply.san.includes('+') ? 'check' : 'tap');
    settle(act.reply?.uci);
    tell(model.spoken(act, now, page.then));
  };
  if (act.kind === 'helped' && page.then) { page.then = null; shown(); onward(); return; } // it may be worth less now
  if (act.move?.san.includes('+')) sound('check');
  if (!act.reply || !act.move) { shown(); return; }
  board.show({ fen: act.mid, last: act.move.uci, corners: game.corners });
  verdict(page.state, 'choosing');
  page.reply = setTimeout(shown, game.pace);
}

// refused paints the server's position again, or repeats where it was only busy.
function refused(f) {
  if (f.no === 'away' || f.no === 'busy') { outbox.again(); note(f.say); return; }
  outbox.done(f.id);
  settle();
  note(f.say, 8000);
  tell(f.say);
}

// settle draws everything from the state: nothing is pending.
function settle(last) {
  const { state } = page;
  const { now, game, acts } = state;
  main.classList.remove('new');
  clearTimeout(page.reply);
  board.show({
    fen: now.fen, last: last || model.lastMove(acts), took: model.took(acts), check: now.check, corners: game.corners,
    legal: now.turn === 'you' && !outbox.has('back') ? now.legal.map((pair) => pair[0]) : [],
  });
  byId('key').hidden = !mating(game.corners, now.fen).length;
  turn(state);
  trail(state);
  strip(state);
  recent(acts);
  verdict(state, now.turn === 'wait' ? 'waiting' : '');
  const risen = end(state, takeBack, helped, page.then);
  ladder.update(state);
  tools();
  think();
  ahead(outbox.move);
  if (!risen) return;
  settled();
  if (now.turn === 'over') sound(model.failed(now.end) ? 'stop' : 'end');
  onward();
}

// onward asks what comes after an ended game: the last part, a rest, or nothing special. The
// buttons wait for the answer, but not for long, so that none changes under a finger.
async function onward() {
  const { game, now } = page.state;
  if (now.turn !== 'over' || page.then || game.coach || game.loose || game.quiet) return;
  const ready = () => byId('after').classList.remove('asks');
  const long = setTimeout(ready, 1500);
  byId('after').classList.add('asks');
  try {
    const answer = await fetch(`/play/${game.id}/then`, { headers: { Accept: 'application/json' } });
    if (!answer.ok || answer.status === 204) return;
    page.then = await answer.json();
    if (!page.then.test && !page.then.bells) {
      proposed(page.state, page.then);
      tell(page.then.say);
      return;
    }
    end(page.state, takeBack, helped, page.then);
    tell(model.afterwards(page.then));
  } catch { /* the panel stands as it is */ } finally {
    clearTimeout(long);
    ready();
  }
}

// tools shows which of the buttons below the column can be used, and who watches.
function tools() {
  const { now, game } = page.state;
  byId('tool-back').hidden = now.backs <= 0 || Boolean(game.coach);
  byId('tool-back').disabled = !canTakeBack();
  byId('tool-type').disabled = now.turn !== 'you';
  if (now.turn !== 'you') typing(false);
  byId('seen').hidden = !now.seen || Boolean(game.coach);
  byId('seen').querySelector('.word').textContent = `${now.who || 'Your coach'} is watching`;
}

// think begins to count his thought where the turn has changed.
function think() {
  const { now } = page.state;
  const turnOf = `${now.ply} ${now.turn}`;
  if (turnOf !== page.thinking) { page.thinking = turnOf; page.since = performance.now(); }
  ticking();
  patience();
}

// settled moves the focus to a panel that has come up, where it would be lost with
// what the panel takes the place of.
function settled() {
  const at = document.activeElement;
  const gone = !at || at === document.body || at.disabled || !at.getClientRects().length;
  if (gone) byId('after').querySelector('h2')?.focus({ preventScroll: true });
}

// took is how long he has thought.
function took() { return Math.round(performance.now() - page.since); }

// ticking runs the drill's clock while it is his turn to think; at the end the
// server is asked, whose count decides.
function ticking() {
  clearInterval(page.tick);
  const left = model.clock(page.state, took());
  byId('clock').hidden = !left;
  if (!left) return;
  tick();
  if (left.counts) page.tick = setInterval(tick, 1000);
}

function tick() {
  const { seconds, counts, text, adds } = model.clock(page.state, took());
  byId('clock-left').textContent = text;
  byId('clock-adds').textContent = adds;
  if (seconds === 60 || seconds === 10) tell(`${model.many(seconds, 'second')} left.`);
  if (seconds > 0 || !counts) return;
  clearInterval(page.tick);
  outbox.put({ do: 'flag', ply: page.state.now.ply, took: took() + 50 });
}

// patience goes on without a coach's hand that does not come: the line of a coach
// can be cut unseen.
function patience() {
  clearTimeout(page.alone);
  const { game, now } = page.state;
  if (game.coach || now.turn !== 'wait') return;
  page.alone = setTimeout(() => ask({ do: 'unseen' }), 62000);
}

// move sends an own move and paints it before anything comes back.
function move(uci) {
  const { game, now } = page.state;
  const command = { do: game.coach ? 'hand' : 'move', ply: now.ply, move: uci, took: took() };
  outbox.put(command);
  sound('tap');
  ahead(command);
  if (!line.ready) down();
}

// ahead paints a move that is not acknowledged yet.
function ahead(command) {
  if (!command || command.ply !== page.state.now.ply) return;
  board.ahead(command.move, page.state.game.corners);
  verdict(page.state, sending());
}

// refuse says why a man cannot go where it was put; the squares are empty where
// nothing was picked up.
function refuse(from, to) {
  const say = why({ men: board.letters(), from, to, side: board.own, now: page.state.now, legal: board.legal });
  if (!say) return;
  note(say, 5000);
  tell(say);
}

function canTakeBack() {
  const { game, now, acts } = page.state;
  return !game.coach && now.backs > 0 && now.turn === 'you' && !outbox.waiting && model.played(acts).some((act) => !act.away);
}

// ask sends a command other than a move.
function ask(command) {
  outbox.put({ ...command, ply: page.state.now.ply });
  if (!line.ready) down();
}

// takeBack leaves the board alone until the move is back: it is about to change.
function takeBack() {
  ask({ do: 'back' });
  settle();
}

// helped notes after the end that the student was not alone.
function helped() {
  ask({ do: 'helped' });
}

// typing opens or shuts the field for typed moves.
function typing(on) {
  byId('typed').hidden = !on;
  main.classList.toggle('typing', on);
}

function openTyped() {
  const form = byId('typed');
  typing(form.hidden);
  if (form.hidden) return;
  byId('typed-move').focus();
  form.scrollIntoView({ block: 'center' });
}

byId('typed').addEventListener('submit', (e) => {
  e.preventDefault();
  const field = byId('typed-move');
  const uci = board.legal.length ? model.typed(field.value, page.state) : null;
  byId('typed-say').textContent = uci ? '' : model.typedWrong(field.value, page.state);
  field.closest('.field').classList.toggle('wrong', !uci);
  if (!uci) return;
  field.value = '';
  board.play(uci);
});

byId('tool-back').addEventListener('click', takeBack);
for (const id of ['tool-turn', 'more-turn']) byId(id)?.addEventListener('click', () => { board.turn(); byId('more')?.close(); });
byId('tool-type').addEventListener('click', openTyped);
byId('tool-more')?.addEventListener('click', () => byId('more').showModal());
byId('tool-moves').addEventListener('click', () => {
  byId('moves-copy').replaceChildren(byId('trail').cloneNode(true));
  byId('moves-copy').firstChild.removeAttribute('id');
  byId('moves').showModal();
});
byId('resign')?.addEventListener('click', () => {
  byId('more').close();
  ask({ do: 'resign' });
});

// A new try ends the game that goes on: it is asked about first.
byId('renew')?.addEventListener('click', () => {
  if (page.state.now?.turn === 'you' || page.state.now?.turn === 'wait') sure(true);
  else byId('renew-form').requestSubmit();
});
byId('renew-no')?.addEventListener('click', () => byId('more').close());
byId('more')?.addEventListener('close', () => sure(false));

function sure(asked) {
  byId('more-all').hidden = asked;
  byId('renew-form').hidden = !asked;
  if (asked) byId('renew-no').focus();
}

// At sign-out the page takes away what it has kept here, but for moves that have
// not gone out: they wait for the one who made them.
for (const out of document.querySelectorAll('form[action="/out"]')) {
  out.addEventListener('submit', () => {
    try {
      for (const name of Object.keys(localStorage)) if (!name.startsWith('drover.waiting.')) localStorage.removeItem(name);
      sessionStorage.clear();
    } catch { /* nothing is kept */ }
  });
}

line.open();
