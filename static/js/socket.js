// The connection of a game, protocol version 1.

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
