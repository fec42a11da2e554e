// The functions of an ELF file, to show where the processor is.
import { readFileSync } from 'node:fs';

/** `[{ name, from, to }]`, sorted by address; names as the compiler mangles them. */
export function functions(path) {
  return symbols(path).filter(({ type }) => type === 2);
}

/** Every symbol of the file. Source: System V ABI, "section header" and "symbol table". */
export function symbols(path) {
  const file = readFileSync(path);
  const [table, size, count] = [file.readUInt32LE(32), file.readUInt16LE(46), file.readUInt16LE(48)];
  const section = (index) => {
    const at = table + index * size;
    const [type, offset, length, link] = [4, 16, 20, 24].map((field) => file.readUInt32LE(at + field));
    return { type, offset, length, link };
  };
  const found = [];
  for (let i = 0; i < count; i++) {
    const { type, offset, length, link } = section(i);
    if (type !== 2) continue; // SHT_SYMTAB
    const names = section(link).offset;
    for (let at = offset; at < offset + length; at += 16) {
      const nameAt = names + file.readUInt32LE(at);
      const from = file.readUInt32LE(at + 4) & ~1;
      const name = file.toString('latin1', nameAt, file.indexOf(0, nameAt));
      found.push({ name, from, to: from + file.readUInt32LE(at + 8), type: file[at + 12] & 15 });
    }
  }
  return found.sort((a, b) => a.from - b.from);
}

/** A mangled Rust name (v0), shortened for people to its path's words; other names as they are. */
export function readable(name) {
  if (!name.startsWith('_R')) return name;
  const words = [];
  for (let at = 2; at < name.length;) {
    const number = name.slice(at).match(/^([1-9][0-9]*)_?/);
    const skipped = name.slice(at).match(/^(?:s|B|Ks)[0-9a-zA-Z]*_/); // disambiguators and back references
    if (number) {
      at += number[0].length;
      words.push(name.slice(at, at + Number(number[1])));
      at += Number(number[1]);
    } else {
      at += skipped ? skipped[0].length : 1;
    }
  }
  return words.join('::');
}
