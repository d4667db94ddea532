// The state of the board page and what follows from it, without a document: a frame of
// the server goes in, a new state comes out, and every word and mark of the panels is
// worked out here. Nothing in this module keeps or changes anything.

// many writes a count with its word.
export function many(n, word) {
  return `${n} ${word}${n === 1 ? '' : 's'}`;
}

// newest is the last of a list that fits, or the very last.
export function newest(list, fits = () => true) {
  for (let i = list.length - 1; i >= 0; i -= 1) if (fits(list[i])) return list[i];
  return undefined;
}

// empty is the state before the first frame.
export const empty = { game: null, acts: [], now: null };

// take folds a frame into a state. fresh are the acts that were not known before.
export function take(state, f) {
  const game = f.game || state.game;
  let acts = f.game ? [] : state.acts;
  if (f.past) acts = acts.map((act) => f.past.find((told) => told.seq === act.seq) || act);
  const fresh = (f.acts || (f.act ? [f.act] : [])).filter((act) => !acts.some((known) => known.seq === act.seq));
  const stale = f.act && !fresh.length; // an act that comes again changes nothing
  return { state: { game, acts: [...acts, ...fresh], now: f.now && !stale ? seat(game, f.now) : state.now }, fresh };
}

// seat turns the server's word on whose turn it is into that of this page: the
// student's own, the coach's by hand, or to wait.
export function seat(game, now) {
  const mine = game.coach ? 'hand' : 'you';
  if (now.turn === mine) return { ...now, turn: 'you' };
  return now.turn === 'you' || now.turn === 'hand' ? { ...now, turn: 'wait' } : now;
}

// runs says whether the game goes on.
export function runs({ now }) {
  return Boolean(now) && now.turn !== 'over';
}

// played lists the own moves, oldest first, and marks those taken back.
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

// lastMove is the move that was made last on the board, as text.
export function lastMove(acts) {
  const last = newest(played(acts), (act) => !act.away);
  return last && (last.reply || last.move).uci;
}

// took says whether the move that was made last took a man.
export function took(acts) {
  const last = newest(played(acts), (act) => !act.away);
  return Boolean(last) && (last.reply || last.move).san.includes('x');
}

// visits groups the moves by visit to a stage. A lost stage closes its visit, and
// the visits to the stages that were held before it get the cut.
export function visits({ acts, now }) {
  const list = [];
  for (const move of played(acts)) {
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
export function failed(end) {
  return end.result === 'not won' || end.result === 'not held';
}

// stageOf is a stage of the game; while a test goes on none is told.
export function stageOf(game, i) {
  return game.stages[i] || { id: '', name: 'Your moves', aim: '' };
}

// tested says whether a test goes on, in which nothing tells how it stands.
export function tested({ game, now }) {
  return game.mode === 'test' && !game.hold && !game.quiet && now.turn !== 'over';
}

// best says a par.
export function best(par) {
  return par ? `best: ${many(par, 'move')}` : '';
}

// visitMark is the state of the mark of one visit; here says that it is the last.
export function visitMark(visit, here, end) {
  if (visit.cut) return 'lost';
  if (here || visit.left) return end && !failed(end) && !visit.left ? 'full' : 'half';
  return 'full';
}

// visitWords says how many moves a visit took, and how it ended.
export function visitWords(visit, here, now, game) {
  const n = visit.moves.filter((move) => !move.away).length;
  if (game.hold) return `${now.held || 0} of ${many(game.wanted, 'move')} held`;
  if (here && now.turn === 'you') return [n && `${many(n, 'move')} so far`, best(now.par)].filter(Boolean).join(', ');
  if (visit.cut) return `${many(n, 'move')}, then lost at move ${visit.cut}`;
  const pawn = game.stages.some((stage) => stage.id === 'escort');
  if (visit.left) return `${many(n, 'move')}, then ${pawn ? 'lost' : 'he had a way out'}`;
  return [many(n, 'move'), best(visit.par)].filter(Boolean).join(', ');
}

// stageMarks are the states of the marks in the strip, one per stage; 'here' is the
// stage of now, 'again' the same where it was held before and lost.
export function stageMarks({ game, acts, now }) {
  const seen = Math.max(-1, ...played(acts).map((move) => move.stage));
  return game.stages.map((_, i) => {
    if (i === now.stage && now.turn !== 'over') return seen > i ? 'again' : 'here';
    if (now.stage < 0) return 'none';
    if (i < now.stage) return 'full';
    if (now.turn !== 'over' || i > seen) return 'none';
    return now.end && failed(now.end) ? 'half' : 'full';
  });
}

// aim is what to try for now.
export function aim(state) {
  if (!tested(state)) return state.game.stages[state.now.stage]?.aim || '';
  return state.game.test ? `${state.game.test}: no help, verdicts at the end.` : 'A test: no help, and the verdicts come at the end.';
}

export const grades = {
  'on course': 'On course', 'no nearer': 'No nearer', detour: 'Detour', slip: 'Slip', 'win gone': 'Win gone', held: 'Held', 'draw gone': 'Draw gone',
};

// waiting are the words for a move that has no answer yet.
const waiting = {
  choosing: ['i-ring', 'He is choosing.'], sent: ['i-ring', 'Sent.'],
  waits: ['i-off', 'Your move is kept here, and is sent when you are connected.'],
  late: ['i-off', 'Your move is not saved yet. It will be sent again.'],
};

// verdict is what the card says: a drawing with a sentence while an answer is
// awaited, else the last move's grade or the first words.
export function verdict({ game, acts }, pending) {
  if (waiting[pending]) return { drawing: waiting[pending][0], spins: waiting[pending][0] === 'i-ring', say: waiting[pending][1] };
  if (pending === 'waiting') return { drawing: 'i-eye', say: game.coach ? 'The student is thinking.' : 'Your coach is choosing his move.' };
  const act = newest(played(acts));
  if (!act) return { say: game.coach ? 'No move yet.' : game.first || 'Your first move.' };
  const move = `${act.no} ${act.move.san}`;
  if (act.away) return { head: `${move} is taken back.`, say: 'Look again from here.' };
  const grade = grades[act.grade];
  const why = (act.why || []).join(' ') || (grade ? '' : quiet(game));
  return { grade: grade && act.grade, head: grade || move, what: grade && move, say: why };
}

// quiet is what is said of a move that is not judged now.
function quiet({ mode, hold, quiet: silent }) {
  if (silent) return 'Your move is noted.';
  if (hold && mode !== 'test') return 'A verdict comes only when the draw is gone.';
  return mode === 'test' ? 'Noted.' : 'A verdict comes only when a move loses ground.';
}

// spoken is what one act says to a screen reader.
export function spoken(act, now, then) {
  const parts = [];
  if (act.kind === 'back') parts.push('Move taken back');
  if (act.kind === 'watch') return `${act.who || 'Your coach'} is watching.`;
  if (act.kind === 'unseen' && !act.reply) return `${act.who || 'Your coach'} is no longer watching.`;
  if (act.move) parts.push(act.move.san);
  const said = now.gone || now.end?.kind === 'mate'; // the panel says it
  if (grades[act.grade] && !said) parts.push(grades[act.grade], ...(act.why || []));
  if (act.reply) parts.push(`He plays ${act.reply.san}`);
  if (now.check && now.turn === 'you') parts.push('Check');
  if (now.end) parts.push(now.end.title, ...endWords(now.end, then), ...(now.end.story || []));
  else if (now.gone) parts.push(now.gone.title, ...now.gone.say);
  else if (now.turn === 'you') parts.push('Your move');
  return parts.map(stop).join(' ');
}

// stop ends a sentence where it has no end.
function stop(text) {
  return /[.?]$/.test(text) ? text : `${text}.`;
}

// trial says whether a coach tries a drill out.
export function trial(game) { return !!game.next && game.next.startsWith('/drills/'); }

function back(game) {
  if (game.next && game.next.startsWith('/games/')) return 'Back to the game';
  return trial(game) ? 'Back to the drill' : 'Back to today';
}

// leave is the button that goes away from a game while there is more of it.
export function leave(game) { return back(game) === 'Back to today' ? 'Enough for today' : back(game); }

// ways are the buttons of an ended game, as what follows and its words; the first
// does what the sentence above it says. What the server proposes comes in place of a next
// start, which there is not now, and of another try where it does not say that there is one.
export function ways(end, game, then) {
  if (end.next === 'rest') return [['today', 'Back to today']];
  if (then?.test) return inTest(then, game);
  if (!then || !then.then) return plainWays(end, game);
  const today = then.then === 'today' ? null : ['today', leave(game)];
  return [[then.then, then.text], today, then.again && game.again ? ['again', 'Another try'] : null].filter(Boolean);
}

// inTest are the ways on from a game of a test: the next one, or none today.
function inTest({ then, text }, game) {
  return then === 'today' ? [[then, text]] : [[then, text], ['today', leave(game)]];
}

// endWords are the sentences of an ended game; what the server proposes takes the place of
// the last one where that is a proposal.
export function endWords(end, then) {
  const proposed = then && (then.say || then.test);
  return (proposed ? [...(alone(end) ? end.say : end.say.slice(0, -1)), then.say] : end.say).filter(Boolean);
}

// afterwards is what a screen reader hears of a test when its verdict has come.
export function afterwards({ say, test, bells = [] }) {
  return [say, test?.say, ...bells.map((bell) => bell.say)].filter(Boolean).join(' ');
}

function plainWays(end, game) {
  const next = game.next === 'next';
  const on = next ? ['next', game.quiet ? 'Go on' : game.test ? 'Next game' : 'Next start'] : null;
  const again = game.again ? ['again', end.next === 'again' && end.result === 'helped' ? 'Play it alone' : 'Another try'] : null;
  const today = ['today', next || (again && end.next === 'again') ? leave(game) : back(game)];
  return (end.next === 'again' ? [again, on, today] : [on, today, again]).filter(Boolean);
}

// good says whether a game was won or held.
export function good(end) { return alone(end) || end.result === 'helped'; }

// word is a small number as a word at the beginning of a sentence.
export function word(n) { return ['', 'One', 'Two', 'Three', 'Four', 'Five', 'Six', 'Seven', 'Eight', 'Nine'][n] || String(n); }

// alone says whether a game was won or held without help.
export function alone(end) {
  return end.result === 'clean' || end.result === 'over par';
}

// stageSum says how many moves a stage took, and how many again after it was lost.
export function stageSum({ visits: all, par }) {
  if (all.length === 1) return [many(all[0].moves, 'move'), all[0].lost ? 'lost' : best(par)].filter(Boolean).join(', ');
  return all.map(({ moves, lost }, i) => {
    if (!i) return many(moves, 'move') + (lost ? ', lost' : '');
    return `then ${moves}${all[i - 1].lost ? '' : ' again'}${lost ? ', lost' : ''}`;
  }).join(', ');
}

// backWords says what taking the move back costs, and how often it can be done.
export function backWords({ game, acts, now }) {
  const used = acts.some((act) => act.hint || act.kind === 'back');
  return [used || game?.loose ? '' : 'It then counts as helped.', now.backs > 1 ? `${now.backs} moves can be taken back in this try.` : ''].join(' ').trim();
}

const titles = { you: 'Your move', wait: 'Your coach is choosing', hand: 'Move for him', theirs: 'The student is thinking', gone: 'Stopped', over: 'Finished', rest: 'Resting' };

// titled is which of the titles fits.
function titled(game, now) {
  if (now.end?.next === 'rest') return 'rest';
  if (!game.coach) return now.turn;
  return { you: 'hand', wait: 'theirs' }[now.turn] || now.turn;
}

// turn says whose turn it is: a title, the number of the move, and what is left.
export function turn({ game, now }) {
  const short = game.budget > 0 && game.budget < 50; // else the fifty-move rule ends it, FIDE Laws 9.6
  const going = now.turn === 'you' || now.turn === 'wait';
  const most = game.most && !(game.budget && game.budget < game.most);
  const rest = most ? ofMost(game, now) : `, ${many(now.left, 'move')} ${game.hold ? 'to hold' : 'left'}`;
  return {
    title: titles[titled(game, now)],
    no: now.move ? `Move ${now.move}` : 'No move yet',
    left: going ? rest : '',
    before: going && !game.hold && !short && !most ? ' before a draw' : '',
  };
}

// ofMost is what is left of the moves within which a game of a test is passed.
function ofMost({ most }, { move }) {
  const left = most - move + 1;
  return left > 0 ? `, ${left} left` : `, past the ${most}`;
}

// clock is the time that is left, in words; took is how long he has thought since the
// state came, in milliseconds. It is null where no clock runs.
export function clock({ game, now }, took) {
  if (!game.clock || (now.turn !== 'you' && now.turn !== 'wait')) return null;
  const counts = now.turn === 'you' && !game.coach;
  const seconds = Math.ceil(Math.max(0, (now.time || 0) - (counts ? took : 0)) / 1000);
  const adds = game.adds ? `+${game.adds}` : ''; // seconds, with each own move
  return { seconds, counts, text: `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`, adds };
}

// typed finds the legal move that a text means, written as in a book or as from-to, in
// any case of letters; null where it means none, or two.
export function typed(text, { now }) {
  const plain = (s) => s.replace(/[^a-z0-9]/gi, '');
  const want = plain(text);
  const legal = now?.turn === 'you' ? now.legal || [] : [];
  const exact = legal.filter(([uci, san]) => uci === want.toLowerCase() || plain(san) === want);
  const loose = exact.length ? exact : legal.filter(([, san]) => plain(san).toLowerCase() === want.toLowerCase());
  return loose.length === 1 ? loose[0][0] : null;
}

// typedWrong says what is wrong with a text that means no move.
export function typedWrong(text, { now }) {
  const like = `Write it like ${now?.legal?.[0]?.[1] || 'Ke2'} or ${now?.legal?.[0]?.[0] || 'e1e2'}.`;
  return `${text.trim() ? `${text.trim()} is not a move here.` : 'Write a move first.'} ${like}`;
}
