// Unpacks text of 85 letters to bytes, and those by gzip; the page's own script is the first.

async function unpacked(text) {
  const bytes = new Uint8Array((text.length / 5) * 4);
  const view = new DataView(bytes.buffer);
  for (let place = 0; place < text.length; place += 5) {
    let value = 0;
    for (const letter of text.slice(place, place + 5)) value = 85 * value + LETTERS.indexOf(letter);
    view.setUint32((place / 5) * 4, value);
  }
  // The last byte says how many bytes before it only fill up.
  const packed = bytes.subarray(0, bytes.length - 1 - bytes[bytes.length - 1]);
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Response(stream).arrayBuffer();
}

unpacked(SCRIPT).then((bytes) => {
  const script = document.createElement("script");
  script.textContent = new TextDecoder().decode(bytes);
  document.head.append(script);
}).catch((error) => {
  document.getElementById("caption").textContent = error.message;
});
