/** What may say where a reading was taken, each null where it is not on record; ft above sea level. */
export interface PlacesOfReading {
  /** As noted with the reading itself. */
  readonly notedFt: number | null
  /** Of the scale of the ticket that it belongs to. */
  readonly scaleFt: number | null
  /** Of the yard of the unit at the head of the combination. */
  readonly headYardFt: number | null
}

/**
 * The elevation of a reading in ft: as noted, else where its ticket's scale stands, else where the unit at the head of
 * the combination is at home; null where nothing says it. An absolute sensor then has no gauge pressure for anybody.
 */
export const elevationOfReading = ({ notedFt, scaleFt, headYardFt }: PlacesOfReading): number | null =>
  notedFt ?? scaleFt ?? headYardFt

/** Whether the elevation of a reading is only that of the yard, miles from which it may have been taken. */
export const isAssumedElevation = ({ notedFt, scaleFt, headYardFt }: PlacesOfReading): boolean =>
  notedFt === null && scaleFt === null && headYardFt !== null
