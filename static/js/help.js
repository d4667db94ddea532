// The help ladder: four steps, one layer at a time. What a step shows comes from
// the server with its act; looking at it again costs nothing.

import { byId, el, icon, shape } from './dom.js';
import { many, newest } from './model.js';
import { doorstep, letters, name, place, track, unit } from './paint.js';

const covers = { pen: 'His pen', gaps: 'The gaps' };
const kinds = ['queen', 'rook', 'bishop', 'knight', 'king'];

export class Ladder {
  // board shows the layers; ask(step) asks the server; tell speaks.
  constructor(board, ask, tell) {
    Object.assign(this, { board, ask, tell, shown: 0, near: true });
    byId('cover-near').addEventListener('click', () => this.reach(true));
    byId('cover-all').addEventListener('click', () => this.reach(false));
  }

  // update draws the ladder for a state; the layer goes when the board changes.
  update(state) {
    if (state.now.fen !== this.fen) { this.shown = 0; this.fen = state.now.fen; }
    this.state = state;
    const { game, now } = state;
    const on = game.help.length > 0 && now.turn === 'you' && !game.coach;
    byId('help').hidden = !on;
    byId('main').classList.toggle('has-help', on);
    if (on) this.draw();
    this.layer();
  }

  // take shows a step that has just been answered.
  take(act) {
    this.shown = act.hint.step;
    this.draw();
    this.layer();
    this.tell(this.words(act.hint));
  }

  hint(step) {
    return newest(this.state.acts, (act) => act.hint && act.hint.step === step && act.fen === this.state.now.fen)?.hint;
  }

  used() {
    return new Set(this.state.acts.filter((act) => act.hint).map((act) => act.hint.step));
  }

  draw() {
    const used = this.used(), { game } = this.state;
    byId('help-count').textContent = helpCount(used.size, game);
    const names = game.hold ? ['', 'His wish', 'His next step', 'Moves that hold', 'The move'] : ['', 'His wish', covers[this.state.now.cover] || 'Cover', 'Which man', 'The move'];
    byId('ladder').replaceChildren(...[1, 2, 3, 4].map((step) => this.rung(step, names[step], used)));
  }

  rung(step, label, used) {
    const allowed = this.state.game.help.includes(step);
    const shown = this.shown === step;
    const mark = shown ? icon('i-eye') : used.has(step) ? icon('i-check') : el('span', null, String(step));
    const button = el('button', {
      type: 'button', class: `rung${shown ? ' shown' : used.has(step) ? ' used' : ''}`, 'aria-pressed': String(shown),
      'aria-disabled': allowed ? null : 'true',
    }, el('span', { class: 'rung-no' }, mark), label);
    button.addEventListener('click', () => this.press(step, allowed));
    return button;
  }

  press(step, allowed) {
    if (!allowed) { this.tell('This drill does not give that help.'); return; }
    if (this.shown === step) this.shown = 0;
    else if (this.hint(step)) { this.shown = step; this.tell(this.words(this.hint(step))); }
    else { this.ask(step); return; }
    this.draw();
    this.layer();
  }

  reach(near) {
    this.near = near;
    this.layer();
  }

  layer() {
    const { now } = this.state;
    const hint = this.shown ? this.hint(this.shown) : now.turn === 'you' && now.aim; // where moves come no nearer
    byId('reach').hidden = !hint?.cover;
    byId('help').classList.toggle('covers', Boolean(hint?.cover));
    byId('help').classList.toggle('tells', Boolean(hint));
    byId('cover-near').setAttribute('aria-pressed', String(this.near));
    byId('cover-all').setAttribute('aria-pressed', String(!this.near));
    const layers = hint ? hintLayers(hint, this.board, this.near) : null;
    byId('hint-key').replaceChildren(...(hint ? this.legend(hint, layers.under) : []));
    this.board.hint(layers);
  }

  // legend says in words what the layer shows, with the signs that are drawn in it.
  legend(hint, drawn) {
    const said = el('span', null, this.words(hint));
    const men = kinds.filter((kind) => drawn.some((node) => node.classList.contains(kind === 'king' ? 'cover-king' : kind)));
    return [said, ...men.map((kind) => el('span', { class: 'sign-key' }, shape('svg', { viewBox: '0 0 64 64', 'aria-hidden': 'true' },
      kind === 'king' ? kingSign('a8', 'w') : sign(kind, 'a8', 'w', 0)), kind))];
  }

  words(hint) {
    if (hint.next) return `He plans to go from ${hint.next.uci.slice(0, 2)} to ${hint.next.uci.slice(2, 4)}, if you hold.`;
    if (hint.holds) return `${hint.holds.length === 1 ? 'Only this move holds' : `${hint.holds.length} moves hold`}: ${hint.holds.map((move) => move.san).join(', ')}.`;
    if (hint.wish) return `He would like to go to ${hint.wish}.`;
    if (hint.man) return `Your ${letters[(this.board.men.get(hint.man)?.letter || '').toLowerCase()] || 'man'} on ${hint.man} is the one to move.`;
    if (hint.move) return `Try ${hint.move.san}.`;
    if (hint.pen) return hint.pen.length > 24 ? 'His pen is open.' : `His pen: ${many(hint.pen.length, 'square')}.`;
    if (hint.gaps) return `If the turn passed, he would get out by ${hint.gaps.map((gap) => gap[1]).join(', ')}.`;
    if (this.state.game.hold) return 'There is nothing left for him to try.';
    if (hint.step === 2) return this.state.now.cover === 'gaps' ? 'There is no gap: if the turn passed, he would still be shut in.' : 'Your men cover these squares.';
    return 'He has nowhere to go.';
  }
}

// helpCount says what help does to the try.
function helpCount(used, game) {
  if (game.loose) return 'Help as often as you like: nothing counts here';
  return used ? `${used} of ${game.help.length} used: this try counts as helped` : 'A try with help counts as helped';
}

// What help draws: cover, his pen with its hurdles, gaps, his wish, the man and
// the move. Signs differ in shape as well as in hue.

const open = 24; // squares from which on his pen has no hurdles

// signs are drawn in a box of 64 units, or squeezed into half of it.
const signs = {
  queen: 'M14 14L50 50M50 14L14 50',
  rook: 'M8 22H56M8 42H56',
  bishop: 'M12 50L26 14M26 50L40 14M40 50L54 14',
  knight: 'M14 42H48V20',
};

const wedges = [[4, 4, 1, 1], [60, 4, -1, 1], [4, 60, 1, -1], [60, 60, -1, -1]];

// hintLayers gives what lies under the men and what stands over them; a man hides
// what lies on his square, so that no sign crosses his face. near keeps cover to the
// squares round the lone king or his pen.
export function hintLayers(hint, board, near) {
  const { side, men } = board;
  const under = [], over = [];
  const tuft = (square) => (men.has(square) ? under : over).push(heather(square, side));
  const pen = hint.pen && hint.pen.length <= open ? hint.pen : null;
  if (pen) { under.push(...pen.map((s) => wash(s, side))); over.push(...hurdles(pen, side)); }
  for (const [from, to] of hint.gaps || []) { under.push(wash(to, side)); over.push(broken(from, to, side)); }
  if (hint.cover) under.push(...cover(hint.cover, board, near ? beside(pen || [board.lone()]) : null));
  if (hint.wish) tuft(hint.wish);
  if (hint.man) over.push(ring(hint.man, side));
  if (hint.next) { over.push(...track(hint.next.uci, side, true)); tuft(hint.next.uci.slice(2, 4)); }
  for (const { uci } of hint.holds || []) over.push(...track(uci, side, true), ...doorstep(uci.slice(2, 4), false, side));
  if (hint.move) {
    const [from, to] = [hint.move.uci.slice(0, 2), hint.move.uci.slice(2, 4)];
    over.push(ring(from, side), ...track(hint.move.uci, side, true), ring(to, side), ...doorstep(to, false, side));
  }
  return { under, over };
}

function at(square) {
  return [square.charCodeAt(0) - 97, Number(square[1]) - 1];
}

// beside is the set of squares that touch some others, those left out.
function beside(squares) {
  const own = new Set(squares), near = new Set();
  for (const square of squares) {
    const [file, rank] = at(square);
    for (let df = -1; df <= 1; df += 1) {
      for (let dr = -1; dr <= 1; dr += 1) {
        if (file + df < 0 || file + df > 7 || rank + dr < 0 || rank + dr > 7) continue;
        const other = name(file + df, rank + dr);
        if (!own.has(other)) near.add(other);
      }
    }
  }
  return near;
}

function wash(square, side) {
  const { x, y } = place(square, side);
  return shape('rect', { class: 'wash', x, y, width: unit, height: unit });
}

// cover draws the signs of all men: the king's wedges in the corners, the others
// whole, or in halves where two meet. Under a man only the corners show.
function cover(men, { side, men: there }, only) {
  const on = new Map(), out = [];
  for (const man of men) {
    for (const square of man.squares) {
      if (only && !only.has(square)) continue;
      if (man.man === 'king') out.push(...kingSign(square, side));
      else if (!there.has(square)) on.set(square, [...(on.get(square) || []), man.man]);
    }
  }
  for (const [square, kinds] of on) {
    const two = kinds.slice(0, 2);
    out.push(...two.map((kind, i) => sign(kind, square, side, two.length > 1 ? i + 1 : 0)));
  }
  return out;
}

function kingSign(square, side) {
  const { x, y } = place(square, side);
  return wedges.map(([dx, dy, sx, sy]) => shape('path', { class: 'cover-king', d: `M${x + dx} ${y + dy}h${14 * sx}l${-14 * sx} ${14 * sy}z` }));
}

function sign(kind, square, side, half) {
  const { x, y } = place(square, side);
  const fit = half ? `translate(${x} ${y + (half - 1) * 32}) scale(1 .5)` : `translate(${x} ${y})`;
  return shape('path', { class: `cover-sign ${kind}`, d: signs[kind], transform: fit });
}

// hurdles puts a hurdle on each side of his pen that is no edge of the board.
function hurdles(pen, side) {
  const inside = new Set(pen), out = [];
  for (const square of pen) {
    const [file, rank] = at(square);
    for (const [df, dr] of [[0, 1], [0, -1], [1, 0], [-1, 0]]) {
      const f = file + df, r = rank + dr;
      if (f < 0 || f > 7 || r < 0 || r > 7 || inside.has(name(f, r))) continue;
      out.push(hurdle(square, name(f, r), side));
    }
  }
  return out;
}

// hurdle stands between two squares: two rails, a bar and a post at each end.
function hurdle(a, b, side) {
  const p = place(a, side), q = place(b, side);
  const x = (p.x + q.x) / 2 + unit / 2, y = (p.y + q.y) / 2 + unit / 2;
  const turn = p.x === q.x ? 0 : 90;
  return shape('g', { class: 'hurdle', transform: `translate(${x} ${y}) rotate(${turn})` },
    shape('path', { class: 'hurdle-back', d: 'M-32 0H32' }),
    shape('path', { class: 'hurdle-line', d: 'M-32 -4H32M-32 4H32M0 -9V9' }),
    post(-32), post(32));
}

function post(x) {
  return shape('rect', { class: 'ink', x: x - 6, y: -6.5, width: 12, height: 13, rx: 3.5 });
}

// broken is a gap: a hurdle across his way with its middle gone.
function broken(from, to, side) {
  const p = place(from, side), q = place(to, side);
  const turn = Math.atan2(q.y - p.y, q.x - p.x) * 180 / Math.PI + 90;
  const piece = (end) => [
    shape('path', { class: 'hurdle-back', d: `M${end} 0H${end / 3}` }),
    shape('path', { class: 'hurdle-line', d: `M${end} -4H${end / 3}M${end} 4H${end / 3}M${end / 3} -11V11` })];
  return shape('g', { class: 'hurdle', transform: `translate(${q.x + unit / 2} ${q.y + unit / 2}) rotate(${turn})` }, piece(-27), piece(27));
}

// sprigs are the tips of a tuft of heather that grows from the foot of a square.
const sprigs = [[11, 28], [21, 17], [32, 11], [43, 17], [53, 28]];

// heather is a tuft of it, where he would graze.
function heather(square, side) {
  const { x, y } = place(square, side);
  const stems = sprigs.map(([tx, ty]) => `M32 55Q${(2 * 32 + tx) / 3} 42 ${tx} ${ty}`).join('');
  const buds = sprigs.flatMap(([tx, ty]) => [0, 0.2, 0.4].map((down) =>
    shape('circle', { cx: tx + down * (32 - tx) * 0.9, cy: ty + down * (50 - ty), r: 3.8 - 2 * down })));
  return shape('g', { class: 'tuft', transform: `translate(${x} ${y})` }, shape('path', { d: stems }), buds);
}

function ring(square, side) {
  const { x, y } = place(square, side);
  return shape('rect', { class: 'ring', x: x + 4, y: y + 4, width: 56, height: 56, rx: 9 });
}
