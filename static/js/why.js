// Why a man cannot go where it was put, in a few words. The server's list of legal
// moves decides; this only finds the plainest reason.

import { letters } from './paint.js';

// why gives a sentence, or nothing where there is nothing to say. men maps squares
// to letters; from is empty where nothing was picked up.
export function why({ men, from, to, side, now, legal }) {
  const own = (square) => men.has(square) && (men.get(square) === men.get(square).toUpperCase()) === (side === 'w');
  if (now.turn === 'wait') return men.has(from || to) ? 'It is not your turn yet.' : '';
  if (now.turn !== 'you' || !legal.length) return '';
  if (!from) return own(to) ? stuck(men.get(to).toLowerCase(), now) : men.has(to) ? 'That man is his.' : '';
  const kind = men.get(from).toLowerCase();
  if (own(to)) return 'Your own man stands there.';
  const shape = reach(kind, from, to, men, side);
  if (shape) return shape;
  if (now.check && kind !== 'k') return 'You are in check: help your king first.';
  return kind === 'k' ? 'His men cover that square.' : 'Then your king would stand in check.';
}

function stuck(kind, now) {
  if (now.check) return 'You are in check: help your king first.';
  return `Your ${letters[kind]} cannot move now.`;
}

// ways say how each man goes; where a move fits, the way must be clear.
const ways = {
  k: ['The king goes one square.', (dx, dy) => Math.max(dx, dy) === 1],
  q: ['The queen goes straight or slanting.', (dx, dy) => !dx || !dy || dx === dy],
  r: ['The rook goes straight.', (dx, dy) => !dx || !dy],
  b: ['The bishop goes slanting.', (dx, dy) => dx === dy],
  n: ['The knight goes two squares, then one sideways.', (dx, dy) => dx * dy === 2],
};

// reach is what is wrong with the shape of a move; nothing where it is right.
function reach(kind, from, to, men, side) {
  const [x, y] = at(from), [u, v] = at(to);
  if (kind === 'p') return pawn(u - x, (v - y) * (side === 'w' ? 1 : -1), men.has(to));
  const [say, fits] = ways[kind];
  if (!fits(Math.abs(u - x), Math.abs(v - y))) return say;
  if (kind === 'n') return '';
  const dx = Math.sign(u - x), dy = Math.sign(v - y);
  for (let i = x + dx, j = y + dy; i !== u || j !== v; i += dx, j += dy) {
    if (men.has('abcdefgh'[i] + (j + 1))) return 'Something stands in the way.';
  }
  return '';
}

function pawn(aside, ahead, taken) {
  if (aside === 0 && taken) return 'Something stands in front of the pawn.';
  if (Math.abs(aside) === 1 && ahead === 1) return taken ? '' : 'A pawn goes slanting only when it takes.';
  return aside === 0 && ahead === 1 ? '' : 'A pawn goes straight ahead.';
}

function at(square) {
  return [square.charCodeAt(0) - 97, Number(square[1]) - 1];
}
