// The moves by stage beside the board, and the strip of marks of narrow pages.

import { byId, chip, el, icon, mark } from './dom.js';
import * as model from './model.js';

// trail draws the moves under their stages.
export function trail(state) {
  const { game, now } = state;
  const list = model.visits(state);
  const newest = model.newest(list.flatMap((visit) => visit.moves));
  const items = list.map((visit, i) => visitItem(visit, i === list.length - 1, state, newest));
  const reached = model.newest(list)?.stage ?? 0;
  const rest = now.turn === 'over' || model.tested(state) ? [] : game.stages.slice(reached + 1);
  items.push(...rest.map((stage, i) => el('li', { class: 'next' }, mark(stage.id, 'none', stage.name),
    el('h2', null, stage.name), i === 0 ? el('p', null, 'next') : null)));
  byId('trail').replaceChildren(...items);
}

function visitItem(visit, here, { game, now }, newest) {
  const stage = model.stageOf(game, visit.stage);
  const turn = here && now.turn === 'you';
  return el('li', { class: turn ? 'here' : null },
    stage.id ? mark(stage.id, model.visitMark(visit, here, now.end), stage.name) : icon('i-list', 'mark'),
    el('h2', null, stage.name), el('p', null, model.visitWords(visit, here, now, game)),
    turn && stage.aim ? el('p', { class: `trail-aim ${stage.id}` }, stage.aim) : null,
    visit.moves.length ? el('ol', { class: 'moves' }, visit.moves.map((move) => moveItem(move, move === newest))) : null);
}

function moveItem(move, last) {
  const show = move.grade && move.grade !== 'on course' && move.grade !== 'held';
  const classes = [move.away ? 'away' : last ? 'at' : '', show ? 'graded' : ''].join(' ').trim();
  return el('li', { class: classes || null, title: move.away ? 'taken back' : null },
    el('span', { class: 'no' }, String(move.no)), el('b', null, move.move.san),
    show ? chip(move.grade, true) : null, el('span', { class: 'his' }, move.reply ? move.reply.san : ''));
}

// strip draws the row of stage marks, and the aim below it.
export function strip(state) {
  const { game, now } = state;
  const items = model.stageMarks(state).map((is, i) => {
    const stage = game.stages[i];
    if (is !== 'here' && is !== 'again') return el('li', null, mark(stage.id, is, stage.name));
    return el('li', { class: 'here' }, el('span', { class: `now ${stage.id}` }, mark(stage.id, is === 'again' ? 'lost' : 'half'),
      el('span', null, el('b', null, stage.name), beside(now, game))));
  });
  byId('strip').replaceChildren(...items);
  byId('aim').textContent = model.aim(state);
}

// beside is the number next to the stage: its par, or how many moves are held.
function beside(now, game) {
  if (game.hold) return el('span', { class: 'par' }, ` ${model.many(now.held || 0, 'move')} held`);
  return now.par ? el('span', { class: 'par' }, ` ${model.best(now.par)}`) : null;
}

// recent draws the last three moves.
export function recent(acts) {
  const last = model.played(acts).filter((move) => !move.away).slice(-3);
  byId('recent').replaceChildren(...last.map((move) => el('span', null, `${move.no} `, el('b', null, move.move.san), move.reply ? ` ${move.reply.san}` : '')));
}
