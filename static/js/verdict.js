// The card with what is said of the last move, and the line that says whose turn it is.

import { byId, chip, el, icon } from './dom.js';
import * as model from './model.js';

// verdict fills the card; pending says what a move without an answer waits for.
export function verdict(state, pending) {
  const { drawing, spins, grade, head, what, say } = model.verdict(state, pending);
  const first = drawing ? icon(drawing, spins ? 'spin mark' : 'mark') : chip(grade);
  const text = head ? el('p', null, el('b', null, head), what ? el('span', { class: 'what' }, what) : null, el('span', { class: 'say' }, say)) : el('p', null, say);
  byId('verdict').replaceChildren(...[first, text].filter(Boolean));
}

// turn says whose turn it is, above the card and in the header of narrow pages.
export function turn(state) {
  const { title, no, left, before } = model.turn(state);
  byId('turn').textContent = title;
  byId('turn-line').textContent = `${no}${left}${before}`;
  byId('turn-small').replaceChildren(el('b', null, title), el('span', null, `${no.toLowerCase()}${left}`));
}
