// The connection of a game, protocol version 1, and the move that waits for its
// acknowledgement. A waiting move lives in the browser's own store: a reload or a
// lost line sends it again under the same id, which the server knows.

const protocol = 'drover.1';
const longest = 15000; // ms between two tries at most

export class Line {
  // path is the socket's address; after() gives the last seq that is known here;
  // on has frame(object), up(), down().
  constructor(path, after, on) {
    this.path = path;
    this.after = after;
    this.on = on;
    this.fails = 0;
    addEventListener('online', () => this.restart());
    document.addEventListener('visibilitychange', () => { if (!document.hidden) this.hurry(); });
  }

  open() {
    clearTimeout(this.timer);
    const url = new URL(this.path, location.href);
    url.protocol = url.protocol.replace('http', 'ws');
    url.searchParams.set('after', this.after());
    const socket = new WebSocket(url, protocol);
    this.socket = socket;
    socket.addEventListener('open', () => { this.fails = 0; this.on.up(); });
    socket.addEventListener('message', (e) => this.on.frame(JSON.parse(e.data)));
    socket.addEventListener('close', (e) => { if (socket === this.socket) this.closed(e.code); });
  }

  closed(code) {
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
      else if (answer.ok && this.fails >= 8) location.reload();
    } catch { /* the server is away: the next try is already set */ }
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

  get ready() { return this.socket?.readyState === WebSocket.OPEN; }

  send(command) {
    if (this.ready) this.socket.send(JSON.stringify(command));
    return this.ready;
  }
}

export class Outbox {
  // game is the id of the game; line carries commands; on.state hears 'saving',
  // 'late' or 'saved'.
  constructor(game, line, on) {
    this.key = `drover.waiting.${game}`;
    this.line = line;
    this.on = on;
    this.waiting = this.read();
  }

  read() {
    try { return JSON.parse(localStorage.getItem(this.key)); } catch { return null; }
  }

  write() {
    try {
      if (this.waiting) localStorage.setItem(this.key, JSON.stringify(this.waiting));
      else localStorage.removeItem(this.key);
    } catch { /* no store: the command still waits in this page */ }
  }

  // put takes one command at a time: what waits goes out first. It says whether
  // the command was taken.
  put(command) {
    if (this.waiting) return false;
    this.waiting = { ...command, id: randomId() };
    this.tries = 0;
    this.write();
    this.send();
    return true;
  }

  send() {
    if (!this.waiting) return;
    clearTimeout(this.repeat);
    this.line.send(this.waiting);
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

  // done forgets the command if the id is its own, and says whether it was.
  done(id) {
    if (!this.waiting || this.waiting.id !== id) return false;
    clearTimeout(this.slow);
    clearTimeout(this.dead);
    clearTimeout(this.repeat);
    this.waiting = null;
    this.write();
    this.on.state('saved');
    return true;
  }
}

function randomId() {
  return Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) => b.toString(16).padStart(2, '0')).join('');
}
