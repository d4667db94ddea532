// The connection of a game, protocol version 1, and the move that waits for its
// acknowledgement. A waiting move lives in the browser's own store: a reload or a
// lost line sends it again under the same id, which the server knows.

const protocol = 'drover.1';
const longest = 15000; // ms between two tries at most
const quiet = 3000;    // ms without any frame after which a line counts as cut: a live one has a frame every 2 s

export class Line {
  // path is the socket's address; after() gives the last seq that is known here;
  // on has frame(object), down(), up(same): on the same line as before or a new
  // one, runs(): whether the game goes on, and none(there): no line has come up yet,
  // though the site itself is there or not.
  constructor(path, after, on) {
    this.path = path;
    this.after = after;
    this.on = on;
    this.fails = 0;
    this.silent = false;
    this.once = false; // a line has been up
    addEventListener('online', () => this.restart());
    addEventListener('offline', () => this.mute());
    document.addEventListener('visibilitychange', () => this.seen());
  }

  open() {
    clearTimeout(this.timer);
    const url = new URL(this.path, location.href);
    url.protocol = url.protocol.replace('http', 'ws');
    url.searchParams.set('after', this.after());
    const socket = new WebSocket(url, protocol);
    this.socket = socket;
    socket.addEventListener('open', () => { this.once = true; this.fails = 0; this.silent = false; this.seen(); this.on.up(); });
    socket.addEventListener('message', (e) => { if (socket === this.socket) this.heard(JSON.parse(e.data)); });
    socket.addEventListener('close', (e) => { if (socket === this.socket) this.closed(e.code); });
    this.first = this.first || setTimeout(() => this.none(), 4000);
    clearTimeout(this.dead);
    this.dead = setTimeout(() => { if (socket.readyState === WebSocket.CONNECTING) this.restart(); }, 3 * quiet);
  }

  // heard takes a frame: the line is alive.
  heard(frame) {
    if (this.silent) { this.silent = false; this.on.up(true); }
    if (!frame.beat) this.on.frame(frame);
    this.listen();
  }

  // listen waits for the next frame while the page is looked at and its game goes on:
  // then the server is never silent for long.
  listen() {
    clearTimeout(this.silence);
    if (document.hidden || !this.on.runs()) return;
    this.silence = setTimeout(() => {
      this.mute();
      this.silence = setTimeout(() => this.restart(), quiet);
    }, quiet);
  }

  // mute takes the line for cut.
  mute() {
    if (this.silent) return;
    this.silent = true;
    this.on.down();
  }

  // seen tells the server whether anybody looks at the page.
  seen() {
    if (this.isOpen) this.socket.send(JSON.stringify({ do: document.hidden ? 'hide' : 'show' }));
    else if (!document.hidden) this.hurry();
    this.listen();
  }

  closed(code) {
    clearTimeout(this.silence);
    this.on.down();
    if (code === 1008) { location.assign('/in'); return; }
    this.fails += 1;
    if (this.fails > 3 && this.fails % 4 === 0) this.look();
    this.timer = setTimeout(() => this.open(), this.wait(code));
  }

  // wait is 0 for a slow reader, up to 5 s after a restart, else growing with
  // the number of failures; always with some chance in it.
  wait(code) {
    if (code === 1013) return 0;
    if (code === 1012) return Math.random() * 5000;
    return Math.min(longest, 500 * 2 ** this.fails) * (0.5 + Math.random() / 2);
  }

  // look asks the page itself why no socket opens: signed out, or a new version.
  async look() {
    try {
      const answer = await fetch(location.href, { method: 'GET', redirect: 'manual', cache: 'no-store' });
      if (answer.type === 'opaqueredirect' || answer.status === 401) location.assign('/in');
      else if (answer.ok && this.once && this.fails >= 8) location.reload();
    } catch { /* the server is away: the next try is already set */ }
  }

  // none finds out, where no line has come up yet, whether the site is away or only
  // sockets do not come through.
  async none() {
    const there = !this.once && await fetch('/here', { cache: 'no-store' }).then((answer) => answer.ok, () => false);
    if (!this.once) this.on.none(there);
  }

  hurry() {
    if (!this.socket || this.socket.readyState === WebSocket.CLOSED) this.open();
  }

  // restart gives up a connection that may be dead without having said so.
  restart() {
    const old = this.socket;
    this.open();
    old?.close();
  }

  get isOpen() { return this.socket?.readyState === WebSocket.OPEN; }

  // ready says whether the line is up as far as is known.
  get ready() { return this.isOpen && !this.silent; }

  send(command) {
    if (this.isOpen) this.socket.send(JSON.stringify(command));
  }
}

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
