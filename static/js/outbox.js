// The moves that wait for their acknowledgement. A waiting move lives in the browser's
// own store: a reload or a lost line sends it again under the same id, which the
// server knows.

// Outbox is the queue of commands that are not acknowledged yet. They go out one
// after the other, the first until its answer comes. Each carries the person who
// gave it, so that another person's sign-in on the same device never sends it.
export class Outbox {
  // game and person are ids; line carries commands; on.state hears 'saving',
  // 'late' or 'saved'.
  constructor(game, person, line, on) {
    this.key = `drover.waiting.${game}`;
    this.person = person;
    this.line = line;
    this.on = on;
    this.tries = 0;
    const kept = this.read();
    this.queue = kept.filter((command) => command.by === person);
    this.others = kept.filter((command) => command.by !== person);
  }

  // read takes what the browser keeps; before there was a queue it kept one command
  // without a person, which can only be the player's own.
  read() {
    try {
      const kept = JSON.parse(localStorage.getItem(this.key)) || [];
      return Array.isArray(kept) ? kept : [{ ...kept, by: this.person }];
    } catch { return []; }
  }

  write() {
    try {
      const all = [...this.others, ...this.queue];
      if (all.length) localStorage.setItem(this.key, JSON.stringify(all));
      else localStorage.removeItem(this.key);
    } catch { /* no store: the commands still wait in this page */ }
  }

  // waiting is the command that goes out now, null where there is none.
  get waiting() { return this.queue[0] || null; }

  // move is the own move that waits, and has(kind) says whether a kind of command does.
  get move() { return this.queue.find((command) => command.move) || null; }

  has(kind) { return this.queue.some((command) => command.do === kind); }

  // put adds a command; the same one twice counts once.
  put(command) {
    const same = (other) => other.do === command.do && other.step === command.step && other.ply === command.ply;
    if (this.queue.some(same)) return;
    this.queue.push({ ...command, by: this.person, id: randomId() });
    this.write();
    if (this.queue.length === 1) this.send();
  }

  send() {
    if (!this.waiting) return;
    clearTimeout(this.repeat);
    const { by, ...command } = this.waiting;
    this.line.send(command);
    this.on.state('saving');
    clearTimeout(this.slow);
    clearTimeout(this.dead);
    this.slow = setTimeout(() => this.on.state('late'), 2000);
    this.dead = setTimeout(() => this.line.restart(), 6000); // the id makes the repeat safe
  }

  // again repeats after 1, 2, 4 seconds, then every 4.
  again() {
    clearTimeout(this.repeat);
    const wait = 1000 * 2 ** Math.min(2, this.tries);
    this.tries += 1;
    this.repeat = setTimeout(() => this.send(), wait);
    this.on.state('late');
  }

  // done forgets the command of an id, and sends the next.
  done(id) {
    const at = this.queue.findIndex((command) => command.id === id);
    if (at < 0) return;
    this.queue.splice(at, 1);
    this.write();
    if (at > 0) return;
    clearTimeout(this.slow);
    clearTimeout(this.dead);
    clearTimeout(this.repeat);
    this.tries = 0;
    if (this.waiting) this.send();
    else this.on.state('saved');
  }
}

function randomId() {
  return Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) => b.toString(16).padStart(2, '0')).join('');
}
