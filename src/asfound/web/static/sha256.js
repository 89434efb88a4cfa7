// SHA-256 (FIPS 180-4) piece by piece: the browser's own is kept from pages on a local network,
// and wants the whole file at once.
const PRIMES = [];
for (let n = 2; PRIMES.length < 64; n += 1) if (!PRIMES.some((p) => n % p === 0)) PRIMES.push(n);
const part = (root) => ((root - Math.floor(root)) * 2 ** 32) | 0;
const K = Int32Array.from(PRIMES, (p) => part(Math.cbrt(p)));
const H = Int32Array.from(PRIMES.slice(0, 8), (p) => part(Math.sqrt(p)));

export class Sha256 {
  #h = H.slice();
  #w = new Int32Array(64);
  #rest = new Uint8Array(64);
  #held = 0;
  #length = 0;

  update(bytes) {
    this.#length += bytes.length;
    let at = 0;
    if (this.#held) {
      at = Math.min(64 - this.#held, bytes.length);
      this.#rest.set(bytes.subarray(0, at), this.#held);
      this.#held += at;
      if (this.#held < 64) return;
      this.#block(this.#rest, 0);
      this.#held = 0;
    }
    for (; at + 64 <= bytes.length; at += 64) this.#block(bytes, at);
    this.#rest.set(bytes.subarray(at));
    this.#held = bytes.length - at;
  }

  hex() {
    const bits = this.#length * 8;
    const tail = new Uint8Array(this.#held < 56 ? 64 - this.#held : 128 - this.#held);
    tail[0] = 0x80;
    const view = new DataView(tail.buffer);
    view.setUint32(tail.length - 8, Math.floor(bits / 2 ** 32));
    view.setUint32(tail.length - 4, bits >>> 0);
    this.update(tail);
    return Array.from(this.#h, (word) => (word >>> 0).toString(16).padStart(8, "0")).join("");
  }

  #block(bytes, from) {
    const w = this.#w;
    for (let t = 0, i = from; t < 16; t += 1, i += 4) {
      w[t] = (bytes[i] << 24) | (bytes[i + 1] << 16) | (bytes[i + 2] << 8) | bytes[i + 3];
    }
    for (let t = 16; t < 64; t += 1) {
      const x = w[t - 15];
      const y = w[t - 2];
      const small = ((x >>> 7) | (x << 25)) ^ ((x >>> 18) | (x << 14)) ^ (x >>> 3);
      const large = ((y >>> 17) | (y << 15)) ^ ((y >>> 19) | (y << 13)) ^ (y >>> 10);
      w[t] = (w[t - 16] + small + w[t - 7] + large) | 0;
    }
    let [a, b, c, d, e, f, g, h] = this.#h;
    for (let t = 0; t < 64; t += 1) {
      const one = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
      const first = (h + one + ((e & f) ^ (~e & g)) + K[t] + w[t]) | 0;
      const two = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
      const second = (two + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      [h, g, f, e, d, c, b, a] = [g, f, e, (d + first) | 0, c, b, a, (first + second) | 0];
    }
    [a, b, c, d, e, f, g, h].forEach((word, i) => { this.#h[i] = (this.#h[i] + word) | 0; });
  }
}
