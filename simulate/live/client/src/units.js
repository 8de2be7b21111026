// Units of people: metres and cd/m2, or inches and foot-lamberts.

const INCH_M = 0.0254; // exact
const FOOT_LAMBERT = 10.763910416709722 / Math.PI; // cd/m2: 1 lm/ft2 over pi

export const METRIC = "metric", INCHES = "inches";
let system = METRIC;

export const unitSystem = () => system;
export const setUnitSystem = (name) => { system = name === INCHES ? INCHES : METRIC; };

export const lengthUnit = () => (system === INCHES ? "in" : "m");
export const lengthStep = () => (system === INCHES ? 0.5 : 0.01);
export const toLength = (metres) => (system === INCHES ? round(metres / INCH_M, 2) : round(metres, 4));
export const fromLength = (shown) => (system === INCHES ? shown * INCH_M : shown);
export const lengthText = (metres) => (system === INCHES ? `${round(metres / INCH_M, 1)} in` : `${metres.toFixed(2)} m`);

const METRES = { m: 1, cm: 0.01, mm: 0.001 };
const LENGTHS = /((?:-?\d+(?:\.\d+)?(?: x | to ))*-?\d+(?:\.\d+)?) (mm|cm|m)(?![\w²])/g;
const inInches = (metres) => { const inches = metres / INCH_M; return String(round(inches, Math.abs(inches) < 1 ? 2 : 1)); };

/** A sentence of the server in the page's unit: lengths such as "2.21 x 1.25 m"; names in quotes stay. */
export const inUnits = (text) => (system !== INCHES ? text : text.split(/("[^"]*")/).map((part, k) => (k % 2 ? part
  : part.replace(LENGTHS, (_, numbers, unit) => `${numbers.replace(/-?\d+(?:\.\d+)?/g, (each) => inInches(each * METRES[unit]))} in`))).join(""));

const RANGE = /\(got (-?\d+(?:\.\d+)?); allowed (.*) m\)$/;

/** What a refused length and its limits are in inches, in brackets: the server tells both as the file has them, in metres. */
export function faultText({ key, text }) {
  const found = system === INCHES && key.endsWith("_m") && RANGE.exec(text);
  if (!found) return text;
  const [got, allowed] = found.slice(1).map((part) => part.replace(/-?\d+(?:\.\d+)?/g, (each) => inInches(Number(each))));
  return `${text} [in inches: got ${got}; allowed ${allowed}]`;
}

export const lightUnit = () => (system === INCHES ? "fL" : "cd/m²");
export const toLight = (luminance) => (system === INCHES ? luminance / FOOT_LAMBERT : luminance);

/** A number to so many digits that people read: three, never in powers of ten. */
export function digits(value, many = 3) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "–";
  if (value === 0) return "0";
  const places = Math.max(0, many - 1 - Math.floor(Math.log10(Math.abs(value))));
  return value.toFixed(Math.min(places, 6));
}

/** A value with its error, in light or as it is, to four digits at most: "55.3 ± 0.2"; an error that these do not show is left out. */
export function withError([value, error], change = (x) => x) {
  if (value === null) return "–";
  const v = change(value), e = error === null ? 0 : change(error);
  const most = v === 0 ? 3 : Math.min(6, Math.max(0, 3 - Math.floor(Math.log10(Math.abs(v)))));
  const places = e > 0 ? Math.min(most, Math.max(0, -Math.floor(Math.log10(e)))) : most;
  const shown = e.toFixed(places);
  return Number(shown) > 0 ? `${v.toFixed(places)} ± ${shown}` : digits(v, 4);
}

export function round(value, places) {
  const power = 10 ** places;
  return Math.round(value * power) / power;
}
