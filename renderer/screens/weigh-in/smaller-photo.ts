/** Each figure of a ticket is still read at so many dots on the longer side. */
const mostDots = 2560
/** A photo of fewer bytes goes as it is. */
const smallBytes = 1024 ** 2

/**
 * A photo as it goes over a bad network: drawn smaller where it is large, as a JPEG, which every browser can draw of
 * what its own camera takes. One that cannot be drawn goes as it is, and the house says what is wrong with it.
 */
export async function smallerPhoto(file: File): Promise<File> {
  if (file.size <= smallBytes && (file.type === 'image/jpeg' || file.type === 'image/png')) return file
  try {
    const picture = await createImageBitmap(file)
    const scale = Math.min(1, mostDots / Math.max(picture.width, picture.height))
    const canvas = document.createElement('canvas')
    canvas.width = Math.round(picture.width * scale)
    canvas.height = Math.round(picture.height * scale)
    canvas.getContext('2d')?.drawImage(picture, 0, 0, canvas.width, canvas.height)
    picture.close()
    const drawn = await new Promise<Blob | null>((resolve) => {
      canvas.toBlob(resolve, 'image/jpeg', 0.85)
    })
    if (drawn === null || drawn.size >= file.size) return file
    return new File([drawn], `${file.name.replace(/\.\w+$/, '') || 'ticket'}.jpg`, { type: 'image/jpeg' })
  } catch {
    return file
  }
}
