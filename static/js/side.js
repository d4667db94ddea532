// What stands beside the board: strip and trail of stages, the verdict, and the
// panels for a finished or stopped game. Each function draws from the state alone.

import { byId, chip, el, icon, many, mark, newest } from './dom.js';

// played lists the own moves that still stand, oldest first, and marks those taken back.
export function played(acts) {
  const moves = [];
  for (const act of acts) {
    if (act.kind === 'move') moves.push({ ...act, away: false });
    if (act.kind === 'back') {
      const last = newest(moves, (move) => !move.away);
      if (last) last.away = true;
    }
    if (!act.move && act.reply && moves.length) newest(moves).reply = act.reply; // by a coach's hand
  }
  return moves;
}

// visits groups the moves by visit to a stage. A lost stage closes its visit, and
// the visits to the stages that were held before it get the cut.
function visits(game, moves, now) {
  const list = [];
  for (const move of moves) {
    let visit = newest(list);
    if (!visit || visit.stage !== move.stage || visit.left) {
      visit = { stage: move.stage, moves: [], par: move.par };
      list.push(visit);
    }
    visit.moves.push(move);
    if (move.back && !move.away) visit.left = move.no;
  }
  const over = now.turn === 'over' || now.turn === 'gone';
  if (!over && (!list.length || newest(list).stage !== now.stage || newest(list).left)) {
    list.push({ stage: now.stage, moves: [], par: now.par });
  }
  list.forEach((visit, i) => cutBefore(list, visit, i));
  return list;
}

function cutBefore(list, visit, i) {
  const next = list[i + 1];
  if (!visit.left || !next) return;
  for (let stage = next.stage; stage < visit.stage; stage += 1) {
    const held = newest(list.slice(0, i), (other) => other.stage === stage);
    if (held) held.cut = visit.left;
  }
}

// failed says whether a game ended otherwise than its drill wants it.
function failed(end) {
  return end.result === 'not won' || end.result === 'not held';
}

// stageOf is a stage of the game; while a test goes on none is told.
function stageOf(game, i) {
  return game.stages[i] || { id: '', name: 'Your moves', aim: '' };
}

// tested says whether a test goes on, in which nothing tells how it stands.
function tested({ game, now }) {
  return game.mode === 'test' && !game.hold && !game.quiet && now.turn !== 'over';
}

// best says a par.
function best(par) {
  return par ? `best: ${many(par, 'move')}` : '';
}

// stateOf is the state of the mark of one visit.
function stateOf(visit, here, end) {
  if (visit.cut) return 'lost';
  if (here || visit.left) return end && !failed(end) && !visit.left ? 'full' : 'half';
  return 'full';
}

function noteOf(visit, here, now, game) {
  const n = visit.moves.filter((move) => !move.away).length;
  if (game.hold) return `${now.held || 0} of ${many(game.wanted, 'move')} held`;
  if (here && now.turn === 'you') {
    return [n && `${many(n, 'move')} so far`, best(now.par)].filter(Boolean).join(', ');
  }
  if (visit.cut) return `${many(n, 'move')}, then lost at move ${visit.cut}`;
  if (visit.left) return `${many(n, 'move')}, then ${game.stages.some((stage) => stage.id === 'escort') ? 'lost' : 'he had a way out'}`;
  return [many(n, 'move'), best(visit.par)].filter(Boolean).join(', ');
}

// trail draws the move list under its stages.
export function trail(state) {
  const { game, acts, now } = state;
  const list = visits(game, played(acts), now);
  const items = list.map((visit, i) => {
    const stage = stageOf(game, visit.stage);
    const here = i === list.length - 1;
    const aim = here && now.turn === 'you' && stage.aim;
    return el('li', { class: here && now.turn === 'you' ? 'here' : null },
      stage.id ? mark(stage.id, stateOf(visit, here, now.end), stage.name) : icon('i-list', 'mark'),
      el('h2', null, stage.name), el('p', null, noteOf(visit, here, now, game)),
      aim ? el('p', { class: `trail-aim ${stage.id}` }, stage.aim) : null,
      visit.moves.length ? el('ol', { class: 'moves' }, visit.moves.map((move) => moveItem(move, move === lastOf(list)))) : null);
  });
  const reached = newest(list)?.stage ?? 0;
  const rest = now.turn === 'over' || tested(state) ? [] : game.stages.slice(reached + 1);
  items.push(...rest.map((stage, i) => el('li', { class: 'next' }, mark(stage.id, 'none', stage.name),
    el('h2', null, stage.name), i === 0 ? el('p', null, 'next') : null)));
  byId('trail').replaceChildren(...items);
}

function lastOf(list) {
  return newest(list.flatMap((visit) => visit.moves));
}

function moveItem(move, last) {
  const show = move.grade && move.grade !== 'on course' && move.grade !== 'held';
  return el('li', { class: [move.away ? 'away' : last ? 'at' : '', show ? 'graded' : ''].join(' ').trim() || null, title: move.away ? 'taken back' : null },
    el('span', { class: 'no' }, String(move.no)), el('b', null, move.move.san),
    show ? chip(move.grade, true) : null, el('span', { class: 'his' }, move.reply ? move.reply.san : ''));
}

// strip draws the row of stage marks of narrow pages.
export function strip(state) {
  const { game, acts, now } = state;
  const seen = Math.max(-1, ...played(acts).map((move) => move.stage));
  const items = game.stages.map((stage, i) => {
    if (i === now.stage && now.turn !== 'over') {
      return el('li', { class: 'here' }, el('span', { class: `now ${stage.id}` }, mark(stage.id, seen > i ? 'lost' : 'half'),
        el('span', null, el('b', null, stage.name), beside(now, game))));
    }
    return el('li', null, mark(stage.id, stripState(i, seen, now), stage.name));
  });
  byId('strip').replaceChildren(...items);
  byId('aim').textContent = tested(state) ? 'A test: no help, and the verdicts come at the end.' : game.stages[now.stage]?.aim || '';
}

// beside is the number next to the stage: its par, or how many moves are held.
function beside(now, game) {
  if (game.hold) return el('span', { class: 'par' }, ` ${many(now.held || 0, 'move')} held`);
  return now.par ? el('span', { class: 'par' }, ` ${best(now.par)}`) : null;
}

function stripState(i, seen, now) {
  if (now.stage < 0) return 'none';
  if (i < now.stage) return 'full';
  if (now.turn !== 'over' || i > seen) return 'none';
  return now.end && failed(now.end) ? 'half' : 'full';
}

// recent draws the last three moves.
export function recent(acts) {
  const last = played(acts).filter((move) => !move.away).slice(-3);
  byId('recent').replaceChildren(...last.map((move) => el('span', null, `${move.no} `, el('b', null, move.move.san), move.reply ? ` ${move.reply.san}` : '')));
}

const names = { 'on course': 'On course', 'no nearer': 'No nearer', detour: 'Detour', slip: 'Slip', 'win gone': 'Win gone', held: 'Held', 'draw gone': 'Draw gone' };

// verdict fills the card: 'choosing' while his reply is due, 'waits' while the own
// move has not gone out, else the last move's grade or the first words.
export function verdict(state, pending) {
  const card = byId('verdict');
  const act = newest(played(state.acts));
  if (pending === 'choosing') { card.replaceChildren(icon('i-ring', 'spin mark'), el('p', null, 'He is choosing.')); return; }
  if (pending === 'sent') { card.replaceChildren(icon('i-ring', 'spin mark'), el('p', null, 'Sent.')); return; }
  if (pending === 'waiting') { card.replaceChildren(icon('i-eye', 'mark'), el('p', null, state.game.coach ? 'The student is thinking.' : 'Your coach is choosing his move.')); return; }
  if (pending === 'waits') { card.replaceChildren(icon('i-off', 'mark'), el('p', null, 'Your move is kept here, and is sent when you are connected.')); return; }
  if (pending === 'late') { card.replaceChildren(icon('i-off', 'mark'), el('p', null, 'Your move is not saved yet. It will be sent again.')); return; }
  if (!act) { card.replaceChildren(el('p', null, state.game.coach ? 'No move yet.' : state.game.first || 'Your first move.')); return; }
  if (act.away) { card.replaceChildren(el('p', null, el('b', null, `${act.no} ${act.move.san} is taken back.`), ' Look again from here.')); return; }
  const what = `${act.no} ${act.move.san}`;
  const grade = names[act.grade];
  const why = (act.why || []).join(' ') || (grade ? '' : quiet(state.game));
  card.replaceChildren(...[chip(act.grade), el('p', null, el('b', null, grade || what), grade ? el('span', { class: 'what' }, what) : null,
    el('span', { class: 'say' }, why))].filter(Boolean));
}

function quiet({ mode, hold, quiet: silent }) {
  if (silent) return 'Your move is noted.';
  if (hold && mode !== 'test') return 'A verdict comes only when the draw is gone.';
  return mode === 'test' ? 'Noted.' : 'A verdict comes only when a move loses ground.';
}

// spoken is what one act says to a screen reader.
export function spoken(act, now) {
  const parts = [];
  if (act.kind === 'back') parts.push('Move taken back');
  if (act.kind === 'watch') return `${act.who || 'Your coach'} is watching.`;
  if (act.kind === 'unseen' && !act.reply) return `${act.who || 'Your coach'} is no longer watching.`;
  if (act.move) parts.push(act.move.san);
  const said = now.gone || now.end?.kind === 'mate'; // the panel says it
  if (names[act.grade] && !said) parts.push(names[act.grade], ...(act.why || []));
  if (act.reply) parts.push(`He plays ${act.reply.san}`);
  if (now.check && now.turn === 'you') parts.push('Check');
  if (now.end) parts.push(now.end.title, ...now.end.say);
  else if (now.gone) parts.push(now.gone.title, ...now.gone.say);
  else if (now.turn === 'you') parts.push('Your move');
  return parts.map(stop).join(' ');
}

// stop ends a sentence where it has no end.
function stop(text) {
  return /[.?]$/.test(text) ? text : `${text}.`;
}

// after draws the panel of a game that is over or stopped, or hides it, and says
// whether it has just come up. takeBack and helped are called for the actions that
// are not forms.
export function after(state, takeBack, helped) {
  const { now, game } = state;
  const panel = byId('after');
  const before = !panel.hidden;
  const shown = now.turn === 'over' || now.turn === 'gone';
  for (const at of [byId('main'), document.body]) at.classList.toggle('done', shown);
  panel.classList.toggle('stopped', now.turn === 'gone');
  panel.hidden = !shown;
  if (now.end) panel.replaceChildren(...ended(now.end, game, helped));
  else if (now.gone) panel.replaceChildren(...gone(now, game, state.acts.some((act) => act.hint || act.kind === 'back'), takeBack));
  return shown && !before;
}

function ended(end, game, helped) {
  const stages = end.stages || [];
  const last = stages.length - 1;
  const sums = stages.map((stage, i) => {
    const name = game.stages.find((s) => s.id === stage.id)?.name || stage.id;
    const full = i < last || !failed(end);
    return el('li', null, mark(stage.id, full ? 'full' : 'half', name), el('b', null, name), el('span', null, sumOf(stage)));
  });
  const looks = (end.look || []).map((look) => el('p', { class: 'end-look' }, chip(look.grade),
    el('span', null, el('b', null, `Move ${look.no}${look.away ? ', taken back' : ''}: `), look.say)));
  if (game.coach) return onlookers(end, game, [sums, looks]);
  return [
    head(end, game), el('p', null, end.say.join(' ')),
    end.article ? el('p', { class: 'article' }, end.article) : null,
    sums.length ? el('ul', { class: 'card sums' }, sums) : null, ...looks,
    el('div', { class: 'end-acts' }, form(game, steps(end, game))),
    el('p', { class: 'end-more' }, [game.review ? el('a', { href: game.review }, 'See the game') : null, wasHelped(end, helped)].filter(Boolean)),
  ].filter(Boolean);
}

// head says how it ended; a win alone has the shut barn door beside it, a draw that
// was held alone its sign.
function head(end, game) {
  const title = el('h2', { tabindex: '-1' }, end.title);
  if (end.result !== 'clean' && end.result !== 'over par') return title;
  return el('div', { class: 'alone-head' }, game.hold ? chip('held') : icon('alone', 'alone mate'), title);
}

// steps are the buttons of an ended game; the first does what its sentence says.
function steps(end, game) {
  const next = game.next && game.next !== '/today';
  const on = next ? ['next', game.quiet ? 'Go on' : 'Next start'] : null;
  const again = game.again ? ['again', end.next === 'again' && end.result === 'helped' ? 'Play it alone' : 'Another try'] : null;
  const today = ['today', next || (again && end.next === 'again') ? 'Enough for today' : 'Back to today'];
  const order = end.next === 'again' ? [again, on, today] : [on, today, again];
  return order.filter(Boolean).map(([then, text], i) => button(then, text, i === 0));
}

// onlookers is what a coach sees of a finished game.
function onlookers(end, game, [sums, looks]) {
  return [el('h2', { tabindex: '-1' }, end.title), el('p', null, end.say.join(' ')), end.article ? el('p', { class: 'article' }, end.article) : null,
    sums.length ? el('ul', { class: 'card sums' }, sums) : null, ...looks,
    el('div', { class: 'end-acts' }, el('a', { class: 'go', href: game.review }, 'See the game'))].filter(Boolean);
}

// wasHelped is the button without blame; a game that counts as helped, or was
// not won, has no use for it.
function wasHelped(end, helped) {
  if (end.result !== 'clean' && end.result !== 'over par') return null;
  const button = el('button', { type: 'button', class: 'quiet' }, 'Someone helped me');
  button.addEventListener('click', helped);
  return button;
}

// sumOf says how many moves a stage took, and how many again after it was lost.
function sumOf({ visits, par }) {
  if (visits.length === 1) return [many(visits[0].moves, 'move'), visits[0].lost ? 'lost' : best(par)].filter(Boolean).join(', ');
  const parts = visits.map(({ moves, lost }, i) => {
    if (!i) return many(moves, 'move') + (lost ? ', lost' : '');
    return `then ${moves}${visits[i - 1].lost ? '' : ' again'}${lost ? ', lost' : ''}`;
  });
  return parts.join(', ');
}

// gone is the panel of a stopped game; used says that the try counts as helped already.
function gone({ gone: stop, backs }, game, used, takeBack) {
  const back = stop.back && !game.coach;
  const main = el('button', { type: 'button', class: 'go' }, 'Take the move back');
  main.addEventListener('click', takeBack);
  const tries = [button('again', 'New try', !back), button('today', 'Enough for today')];
  return [
    el('div', { class: 'gone-head' }, chip(game.hold ? 'draw gone' : 'win gone'), el('h2', { tabindex: '-1' }, stop.title)),
    ...stop.say.map((say) => el('p', null, say)),
    stop.article ? el('p', { class: 'article' }, stop.article) : null,
    game.coach ? el('p', { class: 'soft' }, 'The student decides: take the move back, or begin a new try.') : el('div', { class: 'end-acts' }, back ? [main, el('p', { class: 'under' }, [used ? '' : 'It then counts as helped.', backs > 1 ? `${backs} moves can be taken back in this try.` : ''].join(' ').trim())] : [], form(game, tries)),
  ].filter(Boolean);
}

function form(game, buttons) {
  return el('form', { method: 'post', action: `/play/${game.id}/end` }, buttons.filter(Boolean));
}

function button(then, text, main) {
  return el('button', { class: main ? 'go' : 'btn', name: 'then', value: then }, text);
}
