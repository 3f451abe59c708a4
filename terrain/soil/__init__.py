"""The soil of the job: volumes, measures, the order, haul and doubt."""
