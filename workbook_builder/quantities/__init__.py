"""The engineering: one chapter of the job per module, in reading order."""

from workbook_builder.quantities import array, battery, charging, controller, module, site

CHAPTERS = (site.chapter, module.chapter, array.chapter, controller.chapter, battery.chapter, charging.chapter)
