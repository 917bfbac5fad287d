// What screens show, in the graphics memory.

/** Textures of pictures. `format` is how codes are kept there; `magnified` the filter where one is seen large. */
export class PictureTextures {
  constructor(gl, format, magnified) {
    Object.assign(this, { gl, format, magnified, kept: new Map() });
  }

  /** Keep the pictures of images; what was there already stays, what is shown no more goes. */
  take(images) {
    const before = this.kept;
    this.kept = new Map(images.map(({ picture }) => [picture, before.get(picture)]));
    for (const [picture, texture] of before) if (!this.kept.has(picture)) this.gl.deleteTexture(texture);
    for (const [picture, texture] of this.kept) if (!texture) this.kept.set(picture, this.textureOf(picture));
  }

  of(picture) {
    return this.kept.get(picture);
  }

  /** Let the graphics memory go. */
  free() {
    for (const texture of this.kept.values()) this.gl.deleteTexture(texture);
  }

  /** Put a picture into a texture that averages it where it is seen small. */
  textureOf(picture) {
    const { gl } = this;
    const texture = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D, texture);
    gl.texImage2D(gl.TEXTURE_2D, 0, this.format, gl.RGBA, gl.UNSIGNED_BYTE, picture);
    gl.generateMipmap(gl.TEXTURE_2D);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.LINEAR_MIPMAP_LINEAR);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, this.magnified);
    for (const name of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, name, gl.CLAMP_TO_EDGE);
    return texture;
  }
}
