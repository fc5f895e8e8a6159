/** Hands a file to the window, which saves it among the downloads or asks where to. */
export function saveFile(file: File): void {
  const address = URL.createObjectURL(file)
  const link = document.createElement('a')
  link.href = address
  link.download = file.name
  link.click()
  URL.revokeObjectURL(address)
}
