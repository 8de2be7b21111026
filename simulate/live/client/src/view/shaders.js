// Luminances in cd/m2 to a display, by the same curve as pictures on disk.
// Source: E. Reinhard et al., Photographic tone reproduction, SIGGRAPH 2002, equations 2 and 4; sRGB: IEC 61966-2-1.

const TONE = /* glsl */ `
  uniform float adapted, white;
  uniform bool raw;
  vec3 onDisplay(vec3 light) {
    if (raw) return light;
    float y = dot(light, vec3(0.2126, 0.7152, 0.0722));
    if (y <= 0.0) return vec3(0.0);
    float scaled = 0.18 * y / adapted, top = 1.1 * 0.18 * white / adapted;
    float shown = scaled * (1.0 + scaled / (top * top)) / (1.0 + scaled);
    vec3 rgb = clamp(light * (shown / y), 0.0, 1.0);
    return mix(1.055 * pow(rgb, vec3(1.0 / 2.4)) - 0.055, 12.92 * rgb, vec3(lessThanEqual(rgb, vec3(0.0031308))));
  }`;

// Surfaces read their light from the atlas (ATLAS), heads have it at their corners. Texels lie closer at one end of a triangle: where it
// reads is a ratio of two values that run straight over it, along columns (x, z) and rows (y, w). A place beyond a triangle's edge, as
// samples at edges have it, would be read from another block: hence centroid.
const SENT = /* glsl */ `
#ifdef ATLAS
  centroid varying vec4 spot;
#else
  varying vec3 carried;
#endif`;

export const ROOM_VERTEX = /* glsl */ `${SENT}
#ifdef ATLAS
  attribute vec2 at, pull;
#else
  attribute vec3 light;
#endif
  attribute vec3 rho;
  varying vec3 paint, place;
  void main() {
#ifdef ATLAS
    spot = vec4(at * pull, pull);
#else
    carried = light;
#endif
    paint = rho;
    vec4 world = modelMatrix * vec4(position, 1.0);
    place = world.xyz;
    gl_Position = projectionMatrix * viewMatrix * world;
  }`;

// The projector's own light beside the cloth: E = E_plane (|q - l| / |p - l|)^2 cos(p) / cos(q), as light/projector.py has it.
// What lies behind the screen and its border is in their shadow.
export const ROOM_FRAGMENT = /* glsl */ `${SENT}
  varying vec3 paint, place;
  uniform sampler2D atlas;
  uniform float ambient;
#ifdef BEAM
  uniform bool chart;
  uniform vec3 lens, middle, level;
  uniform vec4 raster, area, sheet;
  uniform float peak, fallOff, far2, black, veil, average;
  uniform sampler2D shown;
#endif
  ${TONE}
#ifdef BEAM
  vec3 beam() {
    vec3 way = place - lens;
    if (way.z >= -1e-6) return vec3(0.0);
    float reach = (middle.z - lens.z) / way.z;
    vec2 q = (lens + reach * way - middle).xy;
    bool inside = q.x >= raster.x && q.x <= raster.y && q.y >= raster.z && q.y <= raster.w;
    bool hidden = reach < 0.9999 && q.x > sheet.x && q.x < sheet.y && q.y > sheet.z && q.y < sheet.w;
    if (!inside || hidden) return vec3(0.0);
    vec3 normal = normalize(cross(dFdx(place), dFdy(place)));
    vec3 back = -normalize(way);
    float lux = peak * (1.0 - fallOff * dot(q, q) / far2) * reach * reach * max(dot(normal, back), 0.0) / back.z;
    vec2 at = vec2((q.x - area.x) / (area.y - area.x), (area.w - q.y) / (area.w - area.z));
    vec3 share = chart ? texture2D(shown, vec2(at.x, 1.0 - at.y)).rgb : level;
    return paint * (lux / 3.14159265358979) * (black + (1.0 - black) * share + 2.0 * average * veil * (1.0 - share));
  }
#endif
  void main() {
#ifdef ATLAS
    vec3 sent = max(texture2D(atlas, spot.xy / spot.zw).rgb, 0.0);
#else
    vec3 sent = carried;
#endif
    sent += paint * (ambient / 3.14159265358979);
#ifdef BEAM
    sent += beam();
#endif
    gl_FragColor = vec4(gl_FrontFacing ? onDisplay(sent) : vec3(0.0), 1.0);
  }`;

export const CLOTH_VERTEX = /* glsl */ `
  varying vec2 at;
  uniform vec4 area; // of the picture: left, right, bottom, top [m] from the cloth's middle
  void main() {
    at = vec2((position.x - area.x) / (area.y - area.x), (area.w - position.y) / (area.w - area.z));
    gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
  }`;

// Maps of the seat have their first and last places on the picture's edges, so a place 0 .. 1 lies between middles of texels.
export const CLOTH_FRAGMENT = /* glsl */ `
  varying vec2 at;
  uniform sampler2D direct, even, ratio, back, shown;
  uniform vec2 directSize, backSize;
  uniform vec3 tint, level;
  uniform float black, veil, average, ambient, scale;
  uniform bool folded, chart;
  ${TONE}
  vec2 between(vec2 size) { return (0.5 + clamp(at, 0.0, 1.0) * (size - 1.0)) / size; }
  void main() {
    vec3 sent = texture2D(back, between(backSize)).rgb;
    sent += tint * texture2D(even, between(directSize)).r * ambient / 3.14159265358979;
    if (all(greaterThanEqual(at, vec2(0.0))) && all(lessThanEqual(at, vec2(1.0)))) {
      vec3 share = chart ? texture2D(shown, vec2(at.x, 1.0 - at.y)).rgb : level;
      vec3 made = black + (1.0 - black) * share + 2.0 * average * veil * (1.0 - share);
      sent += tint * texture2D(direct, between(directSize)).r * scale * made;
      if (folded) sent *= texture2D(ratio, at).r;
    }
    gl_FragColor = vec4(gl_FrontFacing ? onDisplay(sent) : vec3(0.0), 1.0);
  }`;
