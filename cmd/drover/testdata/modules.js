// Tests of the modules that need no document: a page opens this module, and a Go test
// reads what it writes.

import * as model from '/js/model.js';
import { mating, readFen, track } from '/js/paint.js';

const failures = [];
let name = '', checks = 0;

function test(what, run) {
  name = what;
  try { run(); } catch (e) { failures.push(`${what}: ${e}`); }
}

function same(got, want) {
  checks += 1;
  const [a, b] = [got, want].map((value) => JSON.stringify(value === undefined ? null : value));
  if (a !== b) failures.push(`${name}: ${a}, want ${b}`);
}

const game = (more) => ({ stages: [{ id: 'centralise', name: 'Centralise', aim: 'A' }, { id: 'edge', name: 'Drive to the edge', aim: 'B' }, { id: 'mate', name: 'Mate', aim: 'C' }], mode: 'guided', ...more });
const now = (more) => ({ ply: 0, turn: 'you', stage: 0, par: 3, move: 1, left: 50, backs: 1, legal: [['e1e2', 'Ke2'], ['h1h5', 'Rh5+']], ...more });
const move = (seq, no, stage, more) => ({ seq, kind: 'move', no, stage, par: 4, move: { uci: 'e1e2', san: 'Ke2' }, reply: { uci: 'e5e4', san: 'Ke4' }, ...more });
const state = (acts, more, of) => ({ game: game(of), acts, now: now(more) });

test('a frame in, a state out', () => {
  const first = model.take(model.empty, { game: game(), acts: [move(1, 1, 0)], now: now({ turn: 'you' }) });
  same(first.fresh.length, 1);
  same(first.state.acts.length, 1);
  const again = model.take(first.state, { act: move(1, 1, 0), now: now({ ply: 99 }) });
  same([again.fresh.length, again.state.now.ply], [0, 0]);
  const next = model.take(first.state, { act: move(2, 2, 0), now: now({ ply: 4 }) });
  same([next.fresh.length, next.state.acts.length, next.state.now.ply, first.state.acts.length], [1, 2, 4, 1]);
  const told = model.take(next.state, { past: [move(1, 1, 0, { grade: 'slip' })] });
  same(told.state.acts[0].grade, 'slip');
  same(model.take(next.state, { game: game(), acts: [], now: now() }).state.acts, []);
});

test('whose turn it is', () => {
  same(model.seat(game(), now({ turn: 'hand' })).turn, 'wait');
  same(model.seat(game({ coach: 'C' }), now({ turn: 'hand' })).turn, 'you');
  same(model.seat(game({ coach: 'C' }), now({ turn: 'you' })).turn, 'wait');
  same(model.seat(game(), now({ turn: 'over' })).turn, 'over');
  same([model.runs(model.empty), model.runs(state([])), model.runs(state([], { turn: 'over' }))], [false, true, false]);
});

test('moves that were taken back', () => {
  const acts = [move(1, 1, 0), move(2, 2, 0), { seq: 3, kind: 'back' }, { seq: 4, kind: 'help' }];
  same(model.played(acts).map((m) => m.away), [false, true]);
  same(model.lastMove(acts), 'e5e4');
  same(model.played([move(1, 1, 0, { reply: null }), { seq: 2, kind: 'hand', reply: { uci: 'a1a2' } }])[0].reply.uci, 'a1a2');
});

test('visits to stages', () => {
  const lost = [move(1, 1, 0), move(2, 2, 1, { back: true }), move(3, 3, 0), move(4, 4, 1)];
  const list = model.visits(state(lost, { stage: 1 }));
  same(list.map((v) => [v.stage, v.moves.length, v.left || 0, v.cut || 0]), [[0, 1, 0, 2], [1, 1, 2, 0], [0, 1, 0, 0], [1, 1, 0, 0]]);
  same(list.map((v, i) => model.visitMark(v, i === 3)), ['lost', 'half', 'full', 'half']);
  same(model.visitWords(list[0], false, now(), game()), '1 move, then lost at move 2');
  same(model.visitWords(list[1], false, now(), game()), '1 move, then he had a way out');
  same(model.visitWords(list[3], true, now({ par: 5 }), game()), '1 move so far, best: 5 moves');
  same(model.visitWords(list[3], true, now({ held: 2 }), game({ hold: true, wanted: 10 })), '2 of 10 moves held');
  same(model.visits(state([], { stage: 2 })).length, 1);
});

test('marks of the strip', () => {
  same(model.stageMarks(state([], { stage: 0 })), ['here', 'none', 'none']);
  same(model.stageMarks(state([move(1, 1, 1)], { stage: 0 })), ['again', 'none', 'none']);
  same(model.stageMarks(state([move(1, 1, 1)], { stage: 1 })), ['full', 'here', 'none']);
  same(model.stageMarks(state([move(1, 1, 2)], { stage: 2, turn: 'over', end: { result: 'clean' } })), ['full', 'full', 'full']);
  same(model.stageMarks(state([move(1, 1, 1)], { stage: 1, turn: 'over', end: { result: 'not won' } })), ['full', 'half', 'none']);
});

test('the verdict', () => {
  same(model.verdict(state([]), 'choosing').say, 'He is choosing.');
  same(model.verdict(state([])).say, 'Your first move.');
  same(model.verdict(state([move(1, 1, 0, { grade: 'slip', why: ['One.', 'Two.'] })])), { grade: 'slip', head: 'Slip', what: '1 Ke2', say: 'One. Two.' });
  same(model.verdict(state([move(1, 1, 0), { seq: 2, kind: 'back' }])).head, '1 Ke2 is taken back.');
  same(model.verdict(state([move(1, 1, 0)], {}, { mode: 'test' })).say, 'Noted.');
  for (const pending of ['sent', 'waits', 'late', 'waiting']) same(Boolean(model.verdict(state([]), pending).drawing), true);
});

test('what a screen reader hears', () => {
  same(model.spoken(move(1, 1, 0, { grade: 'on course', why: ['Good'] }), now({ check: 'e5' })), 'Ke2. On course. Good. He plays Ke4. Check. Your move.');
  same(model.spoken({ kind: 'back' }, now({ turn: 'gone', gone: { title: 'T', say: ['S.'] } })), 'Move taken back. T. S.');
  same(model.spoken(move(1, 1, 0, { grade: 'slip', reply: null }), now({ turn: 'over', end: { kind: 'mate', title: 'Checkmate', say: [] } })), 'Ke2. Checkmate.');
  same(model.spoken({ kind: 'watch', who: 'Maren' }, now()), 'Maren is watching.');
});

test('ways out of an ended game', () => {
  const all = { next: 'next', again: true };
  same(model.ways({ next: 'again', result: 'not won' }, all), [['again', 'Another try'], ['next', 'Next start'], ['today', 'Enough for today']]);
  same(model.ways({ result: 'clean' }, all), [['next', 'Next start'], ['today', 'Enough for today'], ['again', 'Another try']]);
  same(model.ways({ result: 'clean' }, { next: 'next', test: 'Test, game 2 of 5' })[0], ['next', 'Next game']);
  const five = { then: 'next', text: 'Next game', test: { games: [false], of: 5, say: 'Game 1 of 5.' } };
  same(model.ways({ next: 'again', result: 'not won' }, { next: 'next', again: true }, five), [['next', 'Next game'], ['today', 'Enough for today']]);
  same(model.ways({ result: 'clean' }, { next: 'next' }, { ...five, then: 'today', text: 'Back to today' }), [['today', 'Back to today']]);
  same(model.endWords({ result: 'not won', say: ['Another try is a good next step.'] }, five), []);
  same(model.endWords({ result: 'over par', say: ['Best: 12 moves.'] }, { ...five, say: 'More.' }), ['Best: 12 moves.', 'More.']);
  same(model.afterwards({ ...five, bells: [{ stage: 'mate', say: 'Yours.' }] }), 'Game 1 of 5. Yours.');
  same(model.ways({ result: 'clean' }, { next: '/today' }), [['today', 'Back to today']]);
  const rest = { then: 'today', text: 'Back to today', say: 'Enough.' }, part = { then: 'again', text: 'The last part', say: 'Plenty.' };
  same(model.ways({ result: 'clean' }, all, rest), [['today', 'Back to today']]);
  same(model.ways({ next: 'again', result: 'not won' }, all, part), [['again', 'The last part'], ['today', 'Enough for today']]);
  same(model.endWords({ result: 'not won', say: ['So far.', 'Try again.'] }, part), ['So far.', 'Plenty.']);
  same(model.endWords({ result: 'clean', say: ['You did it alone.'] }, rest), ['You did it alone.', 'Enough.']);
  same(model.endWords({ result: 'clean', say: ['You did it alone.'] }, null), ['You did it alone.']);
  same(model.ways({ result: 'clean' }, { next: '/games/7', again: true }), [['today', 'Back to the game'], ['again', 'Another try']]);
  same(model.leave({ next: '/games/7' }), 'Back to the game');
  same([model.alone({ result: 'clean' }), model.alone({ result: 'helped' }), model.failed({ result: 'not held' })], [true, false, true]);
  same(model.stageSum({ visits: [{ moves: 3 }], par: 2 }), '3 moves, best: 2 moves');
  same(model.stageSum({ visits: [{ moves: 3, lost: true }, { moves: 1 }], par: 2 }), '3 moves, lost, then 1');
  same(model.backWords(state([], { backs: 2 })), 'It then counts as helped. 2 moves can be taken back in this try.');
  same(model.backWords(state([{ seq: 1, kind: 'help', hint: {} }])), '');
  same(model.backWords(state([], {}, { loose: true })), '');
});

test('what the server proposes after a game', () => {
  const all = { next: 'next', again: true }, rest = { then: 'today', text: 'Back to today', say: 'Enough for today.' };
  same(model.ways({ result: 'clean' }, all, rest), [['today', 'Back to today']]); // no start and no try comes now
  same(model.ways({ next: 'again', result: 'not won' }, all, { then: 'again', text: 'The last part', say: 'P.' }), [['again', 'The last part'], ['today', 'Enough for today']]);
  same(model.ways({ result: 'clean' }, all, { ...rest, again: true }), [['today', 'Back to today'], ['again', 'Another try']]);
  const helped = { kind: 'mate', title: 'Checkmate', result: 'helped', say: ['It counts as helped.', 'Try the next one alone.'] };
  same(model.spoken({ kind: 'helped' }, now({ turn: 'over', end: helped }), rest), 'Checkmate. It counts as helped. Enough for today.');
  same(model.endWords({ result: 'clean', say: ['You won alone.'] }, rest), ['You won alone.', 'Enough for today.']);
  same(model.endWords({ result: 'helped', say: ['It counts as helped.', 'Try the next one alone.'] }, rest), ['It counts as helped.', 'Enough for today.']);
  same(model.endWords({ result: 'not won', say: ['Another try is a good next step.'] }, rest), ['Enough for today.']);
  same(model.endWords({ result: 'helped', say: ['It counts as helped.', 'Try the next one alone.'] }, null), ['It counts as helped.', 'Try the next one alone.']);
});

test('turn and clock', () => {
  same(model.turn(state([])), { title: 'Your move', no: 'Move 1', left: ', 50 moves left', before: ' before a draw' });
  same(model.turn(state([], { move: 12 }, { most: 25 })), { title: 'Your move', no: 'Move 12', left: ', 14 left', before: '' });
  same(model.turn(state([], { move: 25 }, { most: 25 })).left, ', 1 left');
  same(model.turn(state([], { move: 26 }, { most: 25 })).left, ', past the 25');
  same(model.turn(state([], { left: 9 }, { most: 25, budget: 20 })).left, ', 9 moves left');
  same(model.turn(state([], { left: 3 }, { hold: true })).left, ', 3 moves to hold');
  same(model.turn(state([], { turn: 'over', move: 0 })), { title: 'Finished', no: 'No move yet', left: '', before: '' });
  same(model.turn(state([], { turn: 'wait' }, { coach: 'C' })).title, 'The student is thinking');
  same(model.clock(state([]), 0), null);
  same(model.clock(state([], { time: 65000 }, { clock: 300 }), 3500), { seconds: 62, counts: true, text: '1:02', adds: '' });
  same(model.clock(state([], { time: 65000 }, { clock: 300, adds: 3 }), 3500).adds, '+3');
  same(model.clock(state([], { time: 1000 }, { clock: 300 }), 9000).text, '0:00');
  same(model.clock(state([], { time: 9000, turn: 'wait' }, { clock: 300 }), 9000).text, '0:09');
});

test('typed moves', () => {
  for (const [text, want] of [['Ke2', 'e1e2'], ['ke2', 'e1e2'], ['e1-e2', 'e1e2'], ['E1E2', 'e1e2'], ['rh5', 'h1h5'], ['Rh5+', 'h1h5'], ['', null], ['Ka1', null]]) {
    same(model.typed(text, state([])), want);
  }
  same(model.typed('Ke2', state([], { turn: 'over' })), null);
  same(model.typedWrong('x', state([])), 'x is not a move here. Write it like Ke2 or e1e2.');
  same(model.typedWrong(' ', state([], { legal: [] })), 'Write a move first. Write it like Ke2 or e1e2.');
});

test('what stands on a board', () => {
  same([...readFen('8/8/8/4k3/8/8/8/4K2R w - - 0 1')], [['e5', 'k'], ['e1', 'K'], ['h1', 'R']]);
  same([mating(['a1'], 'BN6/8/8/8/8/8/8/8'), mating(['a1'], 'B7/8/8/8/8/8/8/8'), mating(undefined, '8/8')], [['a1'], [], []]);
  same(track('a1a4', 'w', true).every((dot) => dot.tagName === 'circle'), true);
});

document.body.dataset.checks = checks;
document.body.dataset.failures = failures.join('\n');
document.body.dataset.done = 'yes';
