// The page of one game. The server sends every position and every legal move; the
// page paints them, and paints an own move before it is confirmed.

import { mating } from './paint.js';
import { byId, el, icon, many, newest } from './dom.js';
import { Board } from './board.js';
import { Line, Outbox } from './socket.js';
import * as side from './side.js';
import { Ladder } from './help.js';
import { why } from './why.js';

const main = byId('main');
const id = main.dataset.game;
const state = { game: null, acts: [], now: null };
let since = 0;          // when it became his turn to think, for 'took'
let reply = 0;          // timer of a reply that is not shown yet
let lost = false;       // the line was cut after it had been up
let thinking = '';      // whose turn it is at which half-move
let tick = 0;           // timer of the clock
let alone = 0;          // timer of a wait for a coach's hand

const board = new Board(byId('board'), (uci) => move(uci), refuse);
const line = new Line(`/live/games/${id}`, () => state.now?.seq || 0, { frame, up, down, runs, none });
const outbox = new Outbox(id, main.dataset.person, line, { state: connection });
const ladder = new Ladder(board, (step) => ask({ do: 'help', step }), tell);

const words = { saved: ['i-check', 'Saved'], saving: ['i-ring', 'Saving'], late: ['i-off', 'Not saved yet'], off: ['i-off', 'Not connected'] };

function connection(name) {
  if (name !== 'off' && !line.ready) name = outbox.waiting && name === 'late' ? 'late' : 'off';
  const [drawing, word] = words[name];
  const box = byId('line');
  if (box.dataset.state === name) return;
  box.dataset.state = name;
  box.replaceChildren(icon(drawing, null), el('span', { class: 'word' }, word));
  if (outbox.move && state.now) side.verdict(state, sending());
}

// sending is what becomes of an own move that has no answer yet.
function sending() {
  const late = byId('line').dataset.state === 'late';
  if (!line.ready || late) return late ? 'late' : 'waits';
  return state.game.coach ? 'sent' : 'choosing';
}

// runs says whether the game goes on, so that the line is expected to be alive.
function runs() {
  return Boolean(state.now) && state.now.turn !== 'over';
}

function tell(text) { byId('live').textContent = text; }

function note(text, ms) {
  byId('off').textContent = text;
  clearTimeout(note.timer);
  note.timer = ms ? setTimeout(() => note(''), ms) : 0;
}

function up(same) {
  connection(outbox.waiting ? 'saving' : 'saved');
  if (!same || !lost) return;
  lost = false;
  back();
}

function down() {
  connection('off');
  if (!state.game || state.now?.turn === 'over') return;
  if (!lost) tell('Not connected.');
  lost = true;
  if (outbox.move) side.verdict(state, 'waits');
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

function frame(f) {
  if (f.game) { state.game = f.game; state.acts = []; board.orient(f.game.side); names(f.game); }
  if (f.past) state.acts = state.acts.map((act) => f.past.find((told) => told.seq === act.seq) || act);
  if (f.game || f.acts) { resume({ ...f, acts: f.acts || [] }); return; }
  if (f.act) one(f.act, f.now);
  else if (f.no) refused(f);
  else if (f.note && f.note.saved === false) connection('late');
}

function names(game) {
  byId('title').textContent = game.title;
  byId('sub').textContent = game.sub;
  byId('main').classList.toggle('looks-on', Boolean(game.coach));
  byId('main').classList.toggle('holds', Boolean(game.hold));
  byId('typed-label').textContent = game.coach ? 'His move' : 'Your move';
}

// seat turns the server's word on whose turn it is into that of this page: the
// student's own, the coach's by hand, or to wait.
function seat(now) {
  const { game } = state;
  const mine = game.coach ? 'hand' : 'you';
  if (now.turn === mine) return { ...now, turn: 'you' };
  return now.turn === 'you' || now.turn === 'hand' ? { ...now, turn: 'wait' } : now;
}

// resume takes the first frame of a connection.
function resume(f) {
  const fresh = f.acts.filter((act) => !state.acts.some((known) => known.seq === act.seq));
  const mine = fresh.length === 1 && Boolean(fresh[0].id) && outbox.waiting?.id === fresh[0].id;
  if (mine && state.now) one(fresh[0], f.now);
  else {
    state.acts.push(...fresh);
    fresh.forEach((act) => outbox.done(act.id));
    state.now = seat(f.now);
    settle();
  }
  if (outbox.waiting) outbox.send(); else connection('saved');
  if (lost) back();
  lost = false;
}

function back() {
  const text = `You're back, and nothing is lost: move ${state.now.move}${state.now.turn === 'you' ? ', your turn' : ''}.`;
  note(text, 6000);
  tell(text);
}

// one takes one act: the own move is on the board at once, his reply after the pace.
function one(act, frame) {
  if (state.acts.some((known) => known.seq === act.seq)) return;
  const now = seat(frame);
  state.acts.push(act);
  state.now = now;
  outbox.done(act.id);
  if (!note.timer) note(''); // a sentence with a time of its own stays that long
  clearTimeout(reply);
  if (act.hint) { settle(); ladder.take(act); return; }
  if (!act.reply || !act.move) { settle(act.reply?.uci); tell(side.spoken(act, now)); return; }
  board.show({ fen: act.mid, last: act.move.uci, corners: state.game.corners });
  side.verdict(state, 'choosing');
  reply = setTimeout(() => { settle(act.reply.uci); tell(side.spoken(act, now)); }, state.game.pace);
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
  main.classList.remove('new');
  const { now, game, acts } = state;
  clearTimeout(reply);
  board.show({
    fen: now.fen, last: last || lastMove(acts), check: now.check, corners: game.corners,
    legal: now.turn === 'you' && !outbox.has('back') ? now.legal.map((pair) => pair[0]) : [],
  });
  byId('key').hidden = !mating(game.corners, now.fen).length;
  turn(now);
  side.trail(state);
  side.strip(state);
  side.recent(acts);
  side.verdict(state, now.turn === 'wait' ? 'waiting' : '');
  const risen = side.after(state, takeBack, helped);
  ladder.update(state);
  byId('tool-back').hidden = now.backs <= 0 || Boolean(game.coach);
  byId('tool-back').disabled = !canTakeBack();
  byId('tool-type').disabled = now.turn !== 'you';
  if (now.turn !== 'you') typing(false);
  byId('seen').hidden = !now.seen || Boolean(game.coach);
  byId('seen').querySelector('.word').textContent = `${now.who || 'Your coach'} is watching`;
  const turnOf = `${now.ply} ${now.turn}`;
  if (turnOf !== thinking) { thinking = turnOf; since = performance.now(); }
  ticking();
  patience();
  ahead(outbox.move);
  if (risen) settled();
}

// settled moves the focus to a panel that has come up, where it would be lost with
// what the panel takes the place of.
function settled() {
  const at = document.activeElement;
  if (!at || at === document.body || at.disabled || !at.getClientRects().length) byId('after').querySelector('h2')?.focus({ preventScroll: true });
}

// ticking runs the drill's clock while it is his turn to think; at the end the
// server is asked, whose count decides.
function ticking() {
  clearInterval(tick);
  const { game, now } = state;
  const runs = game.clock && (now.turn === 'you' || now.turn === 'wait');
  byId('clock').hidden = !runs;
  if (!runs) return;
  const left = () => Math.max(0, (now.time || 0) - (now.turn === 'you' && !game.coach ? performance.now() - since : 0));
  const draw = () => {
    const seconds = Math.ceil(left() / 1000);
    byId('clock-left').textContent = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;
    if (seconds === 60 || seconds === 10) tell(`${many(seconds, 'second')} left.`);
    if (seconds > 0 || now.turn !== 'you' || game.coach) return;
    clearInterval(tick);
    outbox.put({ do: 'flag', ply: now.ply, took: Math.round(performance.now() - since) + 50 });
  };
  draw();
  if (now.turn === 'you' && !game.coach) tick = setInterval(draw, 1000);
}

// patience goes on without a coach's hand that does not come: the line of a coach
// can be cut unseen.
function patience() {
  clearTimeout(alone);
  const { game, now } = state;
  if (game.coach || now.turn !== 'wait') return;
  alone = setTimeout(() => ask({ do: 'unseen' }), 62000);
}

function lastMove(acts) {
  const last = newest(side.played(acts), (act) => !act.away);
  return last && (last.reply || last.move).uci;
}

function turn(now) {
  const short = state.game.budget > 0 && state.game.budget < 50; // else the fifty-move rule ends it, FIDE Laws 9.6
  const going = now.turn === 'you' || now.turn === 'wait';
  const rest = state.game.hold ? `, ${many(now.left, 'move')} to hold` : `, ${many(now.left, 'move')} left${short ? '' : ' before a draw'}`;
  const left = going ? rest : '';
  const no = now.move ? `Move ${now.move}` : 'No move yet';
  const title = titles[now.turn === 'you' && state.game.coach ? 'hand' : now.turn === 'wait' && state.game.coach ? 'theirs' : now.turn];
  byId('turn').textContent = title;
  byId('turn-line').textContent = `${no}${left}`;
  byId('turn-small').replaceChildren(el('b', null, title), el('span', null, `${no.toLowerCase()}${left.replace(' before a draw', '')}`));
}

const titles = { you: 'Your move', wait: 'Your coach is choosing', hand: 'Move for him', theirs: 'The student is thinking', gone: 'Stopped', over: 'Finished' };

// move sends an own move and paints it before anything comes back.
function move(uci) {
  const command = { do: state.game.coach ? 'hand' : 'move', ply: state.now.ply, move: uci, took: Math.round(performance.now() - since) };
  outbox.put(command);
  ahead(command);
  if (!line.ready) down();
}

// ahead paints a move that is not acknowledged yet.
function ahead(command) {
  if (!command || command.ply !== state.now.ply) return;
  board.ahead(command.move, state.game.corners);
  side.verdict(state, sending());
}

// refuse says why a man cannot go where it was put; the squares are empty where
// nothing was picked up.
function refuse(from, to) {
  const say = why({ men: board.letters(), from, to, side: board.side, now: state.now, legal: board.legal });
  if (!say) return;
  note(say, 5000);
  tell(say);
}

function canTakeBack() {
  return !state.game.coach && state.now.backs > 0 && state.now.turn === 'you' && !outbox.waiting && side.played(state.acts).some((act) => !act.away);
}

// ask sends a command other than a move.
function ask(command) {
  outbox.put({ ...command, ply: state.now.ply });
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

// typed takes a move written as in a book or as from-to, in any case of letters.
function typed(text) {
  const plain = (s) => s.replace(/[^a-z0-9]/gi, '');
  const want = plain(text);
  const legal = state.now.turn === 'you' && board.legal.length ? state.now.legal : [];
  const exact = legal.filter(([uci, san]) => uci === want.toLowerCase() || plain(san) === want);
  const loose = exact.length ? exact : legal.filter(([, san]) => plain(san).toLowerCase() === want.toLowerCase());
  return loose.length === 1 ? loose[0][0] : null;
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
  const uci = typed(field.value);
  const like = `Write it like ${state.now?.legal?.[0]?.[1] || 'Ke2'} or ${state.now?.legal?.[0]?.[0] || 'e1e2'}.`;
  const wrong = field.value.trim() ? `${field.value.trim()} is not a move here.` : 'Write a move first.';
  byId('typed-say').textContent = uci ? '' : `${wrong} ${like}`;
  field.closest('.field').classList.toggle('wrong', !uci);
  if (!uci) return;
  field.value = '';
  board.play(uci);
});

byId('tool-back').addEventListener('click', takeBack);
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
  if (state.now?.turn === 'you' || state.now?.turn === 'wait') sure(true);
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
