import { unitNamed } from '#core/fleet/foreign-cells.ts'
import type { ForeignField, ForeignQuantity } from '#core/fleet/foreign-mapping.ts'

/** A title as it is compared: small letters without accents, units and signs. */
export const plainTitle = (title: string): string =>
  title
    .toLowerCase()
    .replaceAll('ß', 'ss')
    .normalize('NFD')
    .replaceAll(/\p{M}/gu, '')
    .replaceAll(/[([][^)\]]*[)\]]/g, ' ')
    .replaceAll(/[^a-z0-9]+/g, ' ')
    .trim()

/**
 * Trade words for each field, most telling first, in English, German, French and Spanish: common practice of scale
 * tickets and pressure logs.
 */
export const fieldWords: readonly (readonly [Exclude<ForeignField, 'value'>, RegExp])[] = [
  ['ticket', /\b(ticket|wiegeschein\w*|wagschein\w*|schein|beleg\w*|weigh ?ticket|slip|bon|boleto|boleta|docket)\b/],
  ['reading', /\b(reading|reading id|record id|messung|messwert id|lectura|lecture)\b/],
  [
    'serial',
    /\b(serial|serial no|sensor|sensor id|seriennummer|seriennr|serien nr|device|device id|numero de serie|capteur)\b/,
  ],
  ['scale', /\b(scale|scale name|weighbridge|waage|station|location|site|bascule|bascula|pont bascule)\b/],
  [
    'date',
    /\b(date|datum|date time|datetime|timestamp|weighed at|weighed|taken at|fecha|zeitpunkt|zeitstempel|day|tag)\b/,
  ],
  ['time', /\b(time|uhrzeit|zeit|hora|heure|clock)\b/],
  [
    'gross',
    /\b(gross|gross weight|brutto|bruttogewicht|gesamt|gesamtgewicht|total|brut|bruto|poids brut|peso bruto|gvw|gcw)\b/,
  ],
  ['group', /\b(axle group|group|axle|achsgruppe|achse|gruppe|essieu|groupe|eje|grupo)\b/],
  ['circuit', /\b(circuit|kreis|luftkreis|circuito|channel|side)\b/],
  [
    'unit',
    /\b(unit|unit no|vehicle|truck|tractor|fahrzeug|kennzeichen|plate|vehicule|vehiculo|unidad|fleet no|asset|lkw)\b/,
  ],
  ['elevation', /\b(elevation|altitude|hohe|hoehe|altitud)\b/],
  ['temperature', /\b(temperature|temp|temperatur|temperatura)\b/],
  ['lift', /\b(lift|lift axle|liftachse)\b/],
]

export const valueWords = {
  weight: /\b(weight|gewicht|poids|peso|masse|last|load|net|netto)\b/,
  pressure: /\b(pressure|druck|pression|presion|psi|kpa|bar)\b/,
} as const

/** Titles of the units of a combination in a wide file. */
export const tractorWords =
  /\b(tractor|truck|zugmaschine|zugfahrzeug|sattelzugmaschine|tracteur|unit|lkw|vehicle|fahrzeug)\b/
export const trailerWords = /\b(trailer|anhanger|auflieger|sattelauflieger|remorque|remolque|semi)\b/

/** Titles of axle groups, with the role that finds them on a unit and whether they are the trailer's. */
export const groupWords: readonly (readonly [RegExp, 'steer' | 'drive' | 'trailer' | 'lift'])[] = [
  [/\b(steer|steers|steering|lenkachsen?|vorderachsen?|front axle|directeur)\b/, 'steer'],
  [/\b(drive|drives|antriebsachsen?|antrieb|hinterachsen?|motriz|moteur)\b/, 'drive'],
  [/\b(trailer|tandem|tridem|spread|anhanger(achsen?)?|auflieger(achsen?)?|remorque|remolque)\b/, 'trailer'],
  [/\b(lift|tag|pusher|liftachse)\b/, 'lift'],
]

/** The unit of measure that a title names: in brackets, or as its last word. */
export function unitInTitle(quantity: ForeignQuantity, title: string): string | undefined {
  const inside = /[([]\s*([^)\]\s]+)\s*[)\]]/.exec(title)?.[1]
  const last = /(?:^|[\s_.,-])([a-zA-Z°]+)\s*$/.exec(title)?.[1]
  return (
    (inside === undefined ? undefined : unitNamed(quantity, inside)) ??
    (last === undefined ? undefined : unitNamed(quantity, last))
  )
}
