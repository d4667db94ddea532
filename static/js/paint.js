// What stands on a board, drawn as SVG on a grid of 64 units a square.

import { shape, use } from './dom.js';

export const unit = 64;
const inset = 3.5; // a man takes 57 of the 64 units

export const letters = { k: 'king', q: 'queen', r: 'rook', b: 'bishop', n: 'knight', p: 'pawn' };

// readFen gives a map from square to letter, upper case for White.
export function readFen(fen) {
  const men = new Map();
  fen.split(' ')[0].split('/').forEach((row, down) => {
    let file = 0;
    for (const c of row) {
      if (c >= '1' && c <= '8') { file += Number(c); continue; }
      men.set(name(file, 7 - down), c);
      file += 1;
    }
  });
  return men;
}

// name is the square at file and rank, both from 0.
export function name(file, rank) {
  return 'abcdefgh'[file] + (rank + 1);
}

// place is the square's upper left corner on the board, seen from side w or b.
export function place(square, side) {
  const file = square.charCodeAt(0) - 97;
  const rank = Number(square[1]) - 1;
  return side === 'b' ? { x: (7 - file) * unit, y: rank * unit } : { x: file * unit, y: (7 - rank) * unit };
}

// stones are the dark squares.
export function stones() {
  const tiles = [];
  for (let i = 0; i < 64; i += 1) {
    const x = i % 8, y = (i - x) / 8;
    if ((x + y) % 2) tiles.push(shape('rect', { class: 'stone', x: x * unit + 1.3, y: y * unit + 1.3, width: 61.4, height: 61.4, rx: 9 }));
  }
  return tiles;
}

// man is one man at its square.
export function man(letter, square, side) {
  const { x, y } = place(square, side);
  const dark = letter === letter.toLowerCase() ? ' dark' : '';
  return shape('g', { class: `man${dark}`, transform: `translate(${x} ${y})` },
    use(letter.toLowerCase(), { x: inset, y: inset, width: 57, height: 57 }));
}

// track is the way of the last move: two hoofprints where it began, then small dots,
// none of them in the middle of a square. Where the man still stands on the old
// square, the dots begin at his rim and there are no prints.
export function track(uci, side, stands) {
  const a = centre(uci.slice(0, 2), side), b = centre(uci.slice(2, 4), side);
  const length = Math.hypot(b.x - a.x, b.y - a.y);
  const ux = (b.x - a.x) / length, uy = (b.y - a.y) / length;
  const dots = stands ? [] : [shape('path', { class: 'tick-line', d: hooves(a, ux, uy), 'stroke-width': 3.4 })];
  const rim = 30 * length / Math.max(Math.abs(b.x - a.x), Math.abs(b.y - a.y)); // where the ticks begin
  const square = length / Math.round(Math.max(Math.abs(b.x - a.x), Math.abs(b.y - a.y)) / 64);
  for (let d = 0.3 * square; d < length - rim + 1; d += square) {
    for (const at of [d, d + 0.2 * square, d + 0.4 * square].filter((way) => way < length - rim + 1 && !(stands && way < rim))) {
      dots.push(shape('circle', { class: 'ink', cx: a.x + ux * at, cy: a.y + uy * at, r: 3.4 }));
    }
  }
  return dots;
}

// hooves are two cloven prints in step, beside the middle of a square.
function hooves(a, ux, uy) {
  const point = (aside, along) => `${(a.x - uy * aside + ux * along).toFixed(1)} ${(a.y + ux * aside + uy * along).toFixed(1)}`;
  return [[9, -7], [-9, 3]].map(([side, along]) => [-1, 1].map((half) => // each half leans in towards the toe
    `M${point(side + 4.2 * half, along)}L${point(side + 2 * half, along + 7)}`).join('')).join('');
}

// ticks stand at the corners of the square to which the last move went.
export function ticks(square, side) {
  const { x, y } = place(square, side);
  const l = x + 5, r = x + 59, t = y + 5, b = y + 59;
  const d = `M${l} ${t + 13}v-9q0-4 4-4h9M${r - 13} ${t}h9q4 0 4 4v9M${r} ${b - 13}v9q0 4-4 4h-9M${l + 13} ${b}h-9q-4 0-4-4v-9`;
  return shape('path', { class: 'tick-line', d, 'stroke-width': 4 });
}

// fallen is the kerchief of a man who was taken: it stays on his square, beside the neck
// of the one who took him.
export function fallen(square, dark, side) {
  const { x, y } = place(square, side);
  return shape('path', { class: `fallen${dark ? ' dark' : ''}`, transform: `translate(${x + 42} ${y + 27})`, d: 'M1 4q9 -5 18 0l-9 12zM1 4l-1 -4M19 4l1 -4' });
}

// hatch is the frame of slanted strokes round a king in check.
export function hatch(square, side) {
  const { x, y } = place(square, side);
  let d = '';
  for (let i = 0; i < 6; i += 1) {
    const s = i * 10.4 + 3;
    d += `M${x + s} ${y + 11}l9-9M${x + s} ${y + 62}l9-9`;
    if (i > 0 && i < 5) d += `M${x + 2} ${y + s + 9}l9-9M${x + 53} ${y + s + 9}l9-9`;
  }
  return shape('path', { class: 'hatch', d });
}

// picked is the gorse stone under the man in hand.
export function picked(square, side) {
  const { x, y } = place(square, side);
  return shape('rect', { class: 'picked', x: x + 3, y: y + 3, width: 58, height: 58, rx: 9, 'stroke-width': 4 });
}

// doorstep marks a square to go to: a bar at its foot, and at its head to take.
export function doorstep(square, take, side) {
  const { x, y } = place(square, side);
  const bar = (top) => shape('rect', { class: 'ink', x: x + 19, y: top, width: 26, height: 6, rx: 2 });
  return take ? [bar(y + 55), bar(y + 3)] : [bar(y + 55)];
}

// mating keeps the corners in which mate works only while bishop and knight are
// both there: without one of them it works nowhere.
export function mating(corners, fen) {
  const men = new Set(readFen(fen).values());
  return corners?.length && ((men.has('B') && men.has('N')) || (men.has('b') && men.has('n'))) ? corners : [];
}

// corner is the thick angle where mate works.
export function corner(square, side) {
  const { x, y } = place(square, side);
  const left = x === 0, top = y === 0;
  const cx = left ? 5 : 507, cy = top ? 5 : 507;
  const d = `M${cx} ${top ? 48 : 464}V${cy}H${left ? 48 : 464}`;
  return shape('path', { class: 'angle', d, 'stroke-width': 10 });
}

// discs number the squares of a way out.
export function discs(squares, side) {
  return squares.map((square, i) => {
    const { x, y } = centre(square, side);
    return shape('g', null, shape('circle', { class: 'disc', cx: x, cy: y, r: 19 }),
      shape('text', { class: 'disc-no', x, y: y + 9 }, String(i + 1)));
  });
}

function centre(square, side) {
  const { x, y } = place(square, side);
  return { x: x + unit / 2, y: y + unit / 2 };
}
