import { encode } from 'uqr'

/** An address as a QR code, dark on white whatever the theme: cameras want it so. */
export function QrCode({ text, label }: { text: string; label: string }) {
  const { size, data } = encode(text, { border: 2 })
  const dark = data.flatMap((row, y) => row.flatMap((isDark, x) => (isDark ? [`M${x} ${y}h1v1h-1z`] : [])))
  return (
    <svg className="share-qr" viewBox={`0 0 ${size} ${size}`} role="img" aria-label={label} shapeRendering="crispEdges">
      <rect width={size} height={size} fill="#fff" />
      <path d={dark.join('')} fill="#000" />
    </svg>
  )
}
