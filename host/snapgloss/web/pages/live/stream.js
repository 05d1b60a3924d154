// The stream, and how old what it last said is. A page that slept, a server that hangs and a rig
// that says nothing all end the same way: the age grows, by this device's own clock.
const AGAIN_MS = 1000, AGAIN_MOST_MS = 4000;
const SLEPT_MS = 3000;   // between two looks at the clock
const DEAD_MS = 12000;   // the server says something every five seconds

export class Stream {
  constructor(page, take, slept, path = "api/live") {
    this.page = page;
    this.path = path;
    this.take = take;
    this.slept = slept;
    this.source = null;
    this.wait = AGAIN_MS;
    this.readAt = null;    // [wall, steady] of the newest reading, this device's clocks
    this.least = Infinity; // between this device's steady clock and the server's, least seen
    this.heardAt = performance.now();
    this.lookedAt = Date.now();
    setInterval(() => this.look(), 500);
    addEventListener("online", () => this.open());
    this.open();
  }

  open() {
    this.source?.close();
    clearTimeout(this.again);
    this.least = Infinity;
    this.heardAt = performance.now();
    this.source = new EventSource(`${this.path}?page=${this.page}`);
    this.source.onmessage = (event) => this.heard(JSON.parse(event.data));
    this.source.onerror = () => this.failed();
  }

  failed() {
    this.source.close();
    clearTimeout(this.again);
    this.again = setTimeout(() => this.open(), this.wait);
    this.wait = Math.min(2 * this.wait, AGAIN_MOST_MS);
  }

  heard(message) {
    if (this.look()) return;  // said before the sleep
    const steady = performance.now();
    this.wait = AGAIN_MS;
    this.heardAt = steady;
    // What waited on its way is older than it says: the least delay seen is taken for none.
    const offset = steady - message.sent_ms;
    this.least = Math.min(this.least, offset);
    const age = message.age_s * 1000 + (offset - this.least);
    this.readAt = message.age_s < 0 ? null : [Date.now() - age, steady - age];
    this.take(message);
  }

  // Seconds since the newest reading; null when there was none. Either clock may have stood still.
  age() {
    if (this.readAt === null) return null;
    const [wall, steady] = this.readAt;
    return Math.max(0, Date.now() - wall, performance.now() - steady) / 1000;
  }

  // After a sleep the old connection may still give what is long past: begin a new one.
  look() {
    const now = Date.now();
    const slept = Math.abs(now - this.lookedAt) > SLEPT_MS;
    this.lookedAt = now;
    if (slept || performance.now() - this.heardAt > DEAD_MS) this.open();
    if (slept) this.slept();
    return slept;
  }
}
