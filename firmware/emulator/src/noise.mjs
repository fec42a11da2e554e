// Noise that is the same on every run.

export class Noise {
  constructor(seed) { this.random = seed; }

  /** Twelve uniform numbers less six: near enough to normal, of unit variance. */
  gaussian() {
    let sum = -6;
    for (let i = 0; i < 12; i++) {
      this.random = (Math.imul(this.random, 1664525) + 1013904223) >>> 0;
      sum += this.random / 2 ** 32;
    }
    return sum;
  }
}
