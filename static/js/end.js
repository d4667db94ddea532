// The panel of a game that is over, or that has stopped because the win went.

import { byId, chip, el, icon, mark } from './dom.js';
import * as model from './model.js';

// end draws the panel, or hides it, and says whether it has just come up. takeBack and
// helped are called for the actions that are not forms.
export function end(state, takeBack, helped, then) {
  const { now, game } = state;
  const panel = byId('after');
  const before = !panel.hidden;
  const held = before && panel.contains(document.activeElement);
  const shown = now.turn === 'over' || now.turn === 'gone';
  for (const at of [byId('main'), document.body]) at.classList.toggle('done', shown);
  panel.classList.toggle('stopped', now.turn === 'gone');
  panel.classList.toggle('stands', shown && before);
  panel.hidden = !shown;
  if (now.end) panel.replaceChildren(...ended(now, game, helped, then));
  else if (now.gone) panel.replaceChildren(...gone(state, takeBack));
  if (held && !panel.contains(document.activeElement)) panel.querySelector('h2')?.focus({ preventScroll: true });
  return shown && !before;
}

// proposed puts what the server proposes into the panel; all else in it stays as it is.
export function proposed({ now, game }, then) {
  const acts = byId('after').querySelector('.end-acts');
  const held = acts.contains(document.activeElement);
  byId('after').querySelector('.end-say').textContent = model.endWords(now.end, then).join(' ');
  acts.replaceChildren(ways(now.end, game, then));
  if (held) acts.querySelector('button').focus({ preventScroll: true });
}

function ended({ end: over, move }, game, helped, then) {
  const article = over.article ? el('p', { class: 'article' }, over.article) : null;
  const see = game.review && move ? el('a', { class: game.coach ? 'go' : 'btn', href: game.review }, 'See the game') : null;
  const acts = game.coach
    ? [el('div', { class: 'end-acts' }, see)]
    : [el('div', { class: 'end-acts' }, ways(over, game, then)), el('p', { class: 'end-more' }, [see, game.loose ? null : wasHelped(over, helped)].filter(Boolean))];
  return [game.coach ? title(over) : head(over, game), el('p', { class: 'end-say' }, model.endWords(over, then).join(' ')), ...tested(then), ...story(over), ...acts,
    stageSums(over, game), looks(over, game), article].filter(Boolean);
}

// tested is how a test of five stands: a barn door for each of its games, shut where it is
// passed, and what is said of them; and the bells that ring now.
function tested(then) {
  const { test, bells = [] } = then || {};
  const door = (won) => el('li', { class: won === undefined ? 'next' : null },
    mark('mate', won ? 'full' : 'none'), won === false ? el('span', { class: 'not', 'aria-hidden': 'true' }) : null);
  return [
    test ? el('section', { class: 'end-test' },
      el('ol', { 'aria-hidden': 'true' }, Array.from({ length: test.of }, (_, i) => door(test.games[i]))), el('p', null, test.say)) : null,
    ...bells.map((bell) => el('p', { class: 'end-bell' }, mark(bell.stage, 'bell'), el('span', null, bell.say))),
  ];
}

// story is what was taken back or avoided.
function story(over) {
  return (over.story || []).map((say) => el('p', { class: 'end-story' }, say));
}

// looks are the moves to look at once more, each with the way back to it.
function looks(over, game) {
  const all = over.look || [];
  if (!all.length) return null;
  return el('section', { class: 'end-looks' }, el('h3', null, `${model.word(all.length)} ${all.length === 1 ? 'move' : 'moves'} to look at`),
    all.map((look) => el('div', { class: 'end-look' }, chip(look.grade), el('div', null,
      el('p', null, el('b', null, `Move ${look.no}${look.away ? ', taken back' : ''}. `), look.say), fromHere(look, game)))));
}

// fromHere plays on from before a move; it counts for nothing.
function fromHere(look, game) {
  if (game.coach || model.trial(game)) return null;
  return el('form', { method: 'post', action: `/play/${game.id}/from` },
    el('button', { class: 'quiet', name: 'seq', value: look.seq }, 'Again from here', el('span', { class: 'unseen' }, `: move ${look.no}`)));
}

function title(over) {
  return el('h2', { tabindex: '-1' }, over.title);
}

// head says how it ended; a win alone has the shut barn door beside it, a win with help the
// mark of the last stage, a draw that was held its sign.
function head(over, game) {
  if (!model.good(over)) return title(over);
  const last = game.stages[game.stages.length - 1];
  const drawing = model.alone(over) ? icon('alone', 'alone mate') : last && mark(last.id, 'full', '');
  return el('div', { class: 'alone-head' }, game.hold ? chip('held') : drawing, title(over));
}

function stageSums(over, game) {
  const stages = over.stages || [];
  const items = stages.map((stage, i) => {
    const name = game.stages.find((s) => s.id === stage.id)?.name || stage.id;
    const full = i < stages.length - 1 || !model.failed(over);
    return el('li', null, mark(stage.id, full ? 'full' : 'half', name), el('b', null, name), el('span', null, model.stageSum(stage)));
  });
  return items.length ? el('ul', { class: 'card sums' }, items) : null;
}

function ways(over, game, then) {
  return form(game, model.ways(over, game, then).map(([then, text], i) => button(then, text, i === 0)));
}

// wasHelped is the button without blame; a game that counts as helped, or was
// not won, has no use for it.
function wasHelped(over, helped) {
  if (!model.alone(over)) return null;
  const press = el('button', { type: 'button', class: 'quiet' }, 'Someone helped me');
  press.addEventListener('click', helped);
  return press;
}

// gone is the panel of a stopped game.
function gone(state, takeBack) {
  const { game, now: { gone: stop } } = state;
  return [
    el('div', { class: 'gone-head' }, chip(game.hold ? 'draw gone' : 'win gone'), title(stop)),
    ...stop.say.map((say) => el('p', null, say)),
    stop.article ? el('p', { class: 'article' }, stop.article) : null,
    game.coach ? el('p', { class: 'soft' }, 'The student decides: take the move back, or begin a new try.') : waysOn(state, takeBack),
  ].filter(Boolean);
}

function waysOn(state, takeBack) {
  const { game, now } = state;
  const back = el('button', { type: 'button', class: 'go' }, 'Take the move back');
  back.addEventListener('click', takeBack);
  const tries = [button('again', 'New try', !now.gone.back), button('today', model.leave(game))];
  return el('div', { class: 'end-acts' }, now.gone.back ? [back, el('p', { class: 'under' }, model.backWords(state))] : [], form(game, tries));
}

function form(game, buttons) {
  return el('form', { method: 'post', action: `/play/${game.id}/end` }, buttons);
}

function button(then, text, main) {
  return el('button', { class: main ? 'go' : 'btn', name: 'then', value: then }, text);
}
