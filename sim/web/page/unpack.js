// Unpacks base64 of gzip; the page's own script is the first that it unpacks.

async function unpacked(text) {
  const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
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
