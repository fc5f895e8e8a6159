import { phoneStore } from '#renderer/client/phone-store.ts'

/** The photos of a form that is not sent yet; place: of its draft, which is a person's own. */
export const readPhotos = async (place: string): Promise<readonly File[]> =>
  (await (await phoneStore()).get('photos', place)) ?? []

/** Keeps photos with a form, so that they outlive the page, which a camera may well push out of a phone's memory. */
export async function keepPhotos(place: string, photos: readonly File[]): Promise<void> {
  const db = await phoneStore()
  if (photos.length === 0) await db.delete('photos', place)
  else await db.put('photos', [...photos], place)
}
