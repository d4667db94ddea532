// What help draws on a board: cover, his pen with its hurdles, gaps, his wish,
// the man and the move. Signs differ in shape as well as in hue.

import { shape } from './dom.js';
import { doorstep, name, place, unit } from './paint.js';

const open = 24; // squares from which on his pen is not fenced

// signs are drawn in a box of 64 units, or squeezed into half of it.
const signs = {
  queen: 'M14 14L50 50M50 14L14 50',
  rook: 'M8 22H56M8 42H56',
  bishop: 'M12 50L26 14M26 50L40 14M40 50L54 14',
  knight: 'M14 42H48V20',
};

const wedges = [[4, 4, 1, 1], [60, 4, -1, 1], [4, 60, 1, -1], [60, 60, -1, -1]];

// hintLayers gives what lies under the men and what stands over them. near keeps
// cover to the squares round the lone king or his pen.
export function hintLayers(hint, side, lone, near) {
  const under = [], over = [];
  const pen = hint.pen && hint.pen.length <= open ? hint.pen : null;
  if (pen) { under.push(...pen.map((s) => wash(s, side))); over.push(...fence(pen, side)); }
  for (const [from, to] of hint.gaps || []) { under.push(wash(to, side)); over.push(broken(from, to, side)); }
  if (hint.cover) under.push(...cover(hint.cover, side, near ? beside(pen || [lone]) : null));
  if (hint.wish) over.push(pennant(hint.wish, side));
  if (hint.man) over.push(ring(hint.man, side));
  if (hint.move) over.push(ring(hint.move.uci.slice(0, 2), side), ...doorstep(hint.move.uci.slice(2, 4), false, side));
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
// whole, or in halves where two meet.
function cover(men, side, only) {
  const on = new Map(), out = [];
  for (const man of men) {
    for (const square of man.squares) {
      if (only && !only.has(square)) continue;
      if (man.man === 'king') out.push(...kingSign(square, side));
      else on.set(square, [...(on.get(square) || []), man.man]);
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

// fence puts a hurdle on each side of his pen that is no edge of the board.
function fence(pen, side) {
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
  return shape('g', { class: 'hurdle', transform: `translate(${q.x + unit / 2} ${q.y + unit / 2}) rotate(${turn})` }, piece(-36), piece(36));
}

function pennant(square, side) {
  const { x, y } = place(square, side);
  return shape('path', { class: 'pennant', d: `M${x + 22} ${y + 54}V${y + 12}h24l-7 8 7 8H${x + 22}` });
}

function ring(square, side) {
  const { x, y } = place(square, side);
  return shape('rect', { class: 'ring', x: x + 4, y: y + 4, width: 56, height: 56, rx: 9 });
}
