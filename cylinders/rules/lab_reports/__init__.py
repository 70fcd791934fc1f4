"""What a lab reports beside its test records: daily checks, inspections, drying."""
