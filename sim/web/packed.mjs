// Bytes as text that a script may hold: gzip, then five letters of 85 for four bytes, which takes
// 6 % less than base64. `page/unpack.js` reads it.

import { gunzipSync, gzipSync } from "node:zlib";

/** Letters that mean nothing in a string of a script in HTML. */
export const LETTERS = Array.from({ length: 92 }, (_, place) => String.fromCharCode(35 + place))
  .filter((letter) => !"\\<$`{}".includes(letter)).slice(0, 85).join("");

export function packed(content) {
  const bytes = gzipSync(content, { level: 9 });
  const fill = 3 - (bytes.length % 4);
  const whole = Buffer.concat([bytes, Buffer.alloc(fill), Buffer.from([fill])]);
  let text = "";
  for (let place = 0; place < whole.length; place += 4) {
    let value = whole.readUInt32BE(place);
    let five = "";
    for (let letter = 0; letter < 5; letter += 1) {
      five = LETTERS[value % 85] + five;
      value = Math.floor(value / 85);
    }
    text += five;
  }
  return text;
}

/** The bytes again, for the tests. */
export function unpacked(text) {
  const bytes = Buffer.alloc((text.length / 5) * 4);
  for (let place = 0; place < text.length; place += 5) {
    let value = 0;
    for (const letter of text.slice(place, place + 5)) value = 85 * value + LETTERS.indexOf(letter);
    bytes.writeUInt32BE(value, (place / 5) * 4);
  }
  return gunzipSync(bytes.subarray(0, bytes.length - 1 - bytes[bytes.length - 1]));
}
