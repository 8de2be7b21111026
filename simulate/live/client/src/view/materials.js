// The materials of a lit room: surfaces, heads and cloth, for an eye inside and for a look from outside. Each kind is made once and
// holds no branch that it does not need, since drawn by software every pixel pays for it.

import { DoubleSide, FrontSide, ShaderMaterial } from "three";
import { CLOTH_FRAGMENT, CLOTH_VERTEX, ROOM_FRAGMENT, ROOM_VERTEX } from "./shaders.js";

export class Materials {
  /** uniforms of the room and of its cloth. */
  constructor(room, cloth) {
    this.uniforms = { room, cloth };
    this.made = new Map();
  }

  /** what: "surfaces", "heads", "cloth";  beam: the projector's own light falls there too;  outside: seen through the walls' backs. */
  of(what, { beam = false, outside = false } = {}) {
    const key = `${what} ${beam} ${outside}`;
    if (!this.made.has(key)) {
      const cloth = what === "cloth", defines = {};
      if (what === "surfaces") defines.ATLAS = 1;
      if (beam) defines.BEAM = 1;
      this.made.set(key, Object.assign(new ShaderMaterial({
        vertexShader: cloth ? CLOTH_VERTEX : ROOM_VERTEX, fragmentShader: cloth ? CLOTH_FRAGMENT : ROOM_FRAGMENT, defines,
        uniforms: this.uniforms[cloth ? "cloth" : "room"], side: outside ? FrontSide : DoubleSide,
      }), { userData: { what, beam } }));
    }
    return this.made.get(key);
  }

  /** The same material for a look from outside. */
  fromOutside({ userData: { what, beam } }) { return this.of(what, { beam, outside: true }); }
}
