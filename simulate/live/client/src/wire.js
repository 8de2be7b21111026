// What comes over the socket: JSON, or JSON with arrays behind it (see wire.py).

const KINDS = { f4: Float32Array, f2: Uint16Array, u2: Uint16Array, u4: Uint32Array, u1: Uint8Array, i4: Int32Array };

/** A message as an object; arrays stand under `arrays` by name as { data, shape }, half floats as their bits. */
export function decoded(data) {
  if (typeof data === "string") return JSON.parse(data);
  const length = new DataView(data).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(data, 4, length)));
  const arrays = {};
  for (const { name, type, shape, at } of head.arrays) {
    const count = shape.reduce((a, b) => a * b, 1);
    arrays[name] = { data: new KINDS[type](data, 4 + length + at, count), shape };
  }
  return { ...head, arrays };
}

const table = new Float32Array(65536);
for (let bits = 0; bits < 65536; bits += 1) {
  const sign = bits & 0x8000 ? -1 : 1, exponent = (bits >> 10) & 31, rest = bits & 1023;
  if (exponent === 0) table[bits] = sign * rest * 2 ** -24;
  else if (exponent === 31) table[bits] = rest ? NaN : sign * Infinity;
  else table[bits] = sign * (1 + rest / 1024) * 2 ** (exponent - 15);
}

/** Half floats (IEEE 754 binary16) as single floats, into `out` where it is given. */
export function floats(half, out = new Float32Array(half.length)) {
  for (let i = 0; i < half.length; i += 1) out[i] = table[half[i]];
  return out;
}
