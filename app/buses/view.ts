/** The numbers of a message, in either order of their bytes; reading beyond its end throws RangeError. */
export const viewOf = (bytes: Uint8Array): DataView =>
  new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength)
